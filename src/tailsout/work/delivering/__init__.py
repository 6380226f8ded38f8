"""The parts of a delivery."""
