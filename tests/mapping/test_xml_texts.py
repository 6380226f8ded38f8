"""Texts and attributes of a document in XML, a line each, as many as are kept."""

from tailsout.ground.findings import Place
from tailsout.mapping import xml, xml_texts

PLACE = Place(file="data/audio/reel.wav", part="axml")


def texts(content: bytes) -> str:
    root, found = xml.read(content, PLACE)
    assert root is not None
    assert found == ()
    return xml_texts.texts_of(root.iter())


def test_in_the_order_of_the_document() -> None:
    content = b'<a n="one"><b> two\n  lines </b><c m="three"/>four<d>five</d></a>'
    assert texts(content).split("\n") == ["one", "two lines", "three", "four", "five"]


def test_what_is_not_said_is_left_out() -> None:
    assert texts(b"<a>\n <!-- no --><b></b><?no no?></a>") == ""


def test_no_more_than_is_kept() -> None:
    line = b"<b>" + b"x" * 999 + b"</b>"
    kept = texts(b"<a>" + line * 200 + b"</a>")
    assert len(kept) == xml_texts.MOST_CHARACTERS - 1
    assert len(texts(b"<a>" + b"x" * 300_000 + b"</a>")) == xml_texts.MOST_CHARACTERS
