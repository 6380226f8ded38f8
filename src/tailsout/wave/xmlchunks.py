"""The `iXML` and `axml` chunks as octets: an XML document, and what fills the chunk up.

`axml` is EBU Tech 3285 supplement 5, `iXML` an open specification of its own; both hold one
document and nothing else. What the document says, and whether it is XML, is not looked at here.
"""

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError

MAX_OCTETS = 1 << 20
"""Most octets of such a chunk that are read, and most that are written."""

_UTF_16_FILLERS = {
    b"\xff\xfe": (b"\0\0", b" \0"),
    b"\xfe\xff": (b"\0\0", b"\0 "),
}
"""NUL and blank in UTF-16, by its byte-order mark: its last character may itself end in NUL."""


def content(
    payload: bytes, declared_octets: int, *, offset: int = 0
) -> tuple[bytes, tuple[Damage, ...]]:
    """Return the document of a chunk that lies at `offset`, without the NULs and blanks behind it.

    A chunk declared larger than `MAX_OCTETS` is told of, and nothing is returned: the beginning of
    a document is none.
    """
    if declared_octets > MAX_OCTETS:
        text = f"The XML chunk has {declared_octets} octets, up to {MAX_OCTETS} are read."
        return b"", (Damage(kind="xml-oversize", offset=offset, text=text),)
    fillers = _UTF_16_FILLERS.get(payload[:2])
    if fillers is None:
        return payload.rstrip(b"\0 "), ()
    if len(payload) % 2 and payload[-1:] in {b"\0", b" "}:
        payload = payload[:-1]
    end = len(payload)
    while end % 2 == 0 and payload[end - 2 : end] in fillers:
        end -= 2
    return payload[:end], ()


def encode(document: bytes) -> bytes:
    """Return the payload for a document: of even size, so that no reader can lose the next chunk.

    A blank fills it up, which may stand behind a document (XML 1.0 §2.1), as a NUL may not.
    Raises MaterialError for a document that would not be read again for its size.
    """
    payload = document + b" " * (len(document) % 2)
    if len(payload) > MAX_OCTETS:
        raise MaterialError(
            f"The XML document has {len(document)} octets, up to {MAX_OCTETS} go into a chunk."
        )
    return payload
