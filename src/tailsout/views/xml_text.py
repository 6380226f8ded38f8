"""Texts of strangers as XML can hold them."""

from tailsout.mapping import xml
from tailsout.views.losses import MOST_CHARACTERS


def holdable(text: str) -> str:
    """Return a text as XML can hold it, cut where it is longer than a description should be."""
    if len(text) > MOST_CHARACTERS:
        text = f"{text[:MOST_CHARACTERS]}…({len(text) - MOST_CHARACTERS} more)"
    return xml.holdable(text)
