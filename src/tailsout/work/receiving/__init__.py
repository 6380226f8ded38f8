"""The parts of a receipt and of what follows it."""
