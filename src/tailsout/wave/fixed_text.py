"""Text in a field of fixed length, ended by NUL where it is shorter, as many chunks have it."""


def read(raw: bytes) -> tuple[str, bool]:
    """Return the text up to the first NUL, without blanks behind it, and whether it is ASCII.

    What is not ASCII is read as Latin-1, so that nothing is lost.
    """
    head = raw.partition(b"\0")[0].rstrip(b" ")
    return head.decode("latin-1"), head.isascii()
