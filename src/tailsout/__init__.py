"""Packs a tape transfer, its history and its proof, and judges packages from others."""

__version__ = "0.1.0"
