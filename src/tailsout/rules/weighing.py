"""How words of the readers are given what they weigh: many words, one kind of finding."""

from tailsout.ground.findings import Kind

AGAIN = "Go back to the recorder's own file, or ask the sender for the file again."
"""The remedy for a file whose audio or structure cannot be relied on."""


def weighing(kind: Kind, *words: str) -> dict[str, Kind]:
    """Return the kind that each of some words stands for."""
    return dict.fromkeys(words, kind)
