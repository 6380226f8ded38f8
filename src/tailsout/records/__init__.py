"""What we know: frozen, slotted, keyword-only dataclasses; no I/O, no JSON."""
