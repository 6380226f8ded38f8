"""Samples to facts: digests and meters fed by one streaming read."""
