"""What `wave` read of the chunks beside the audio, as records."""

import pytest

from tailsout.ground.findings import Place
from tailsout.mapping.tags import MAX_REMARKS, cart_of, document_of, marks_of, of_bext, umid_of
from tailsout.wave import cart, umid
from tailsout.wave.bext import Bext
from tailsout.wave.marks import Mark

PLACE = Place(file="a.wav", part="iXML")


def test_a_file_without_bext_says_nothing_by_it() -> None:
    assert of_bext(None) == {}


def test_remarks_without_end_are_counted() -> None:
    said = of_bext(Bext(coding_history="prose\r\n" * (MAX_REMARKS + 7)))
    assert len(said["history_remarks"]) == MAX_REMARKS + 1
    assert said["history_remarks"][-1] == "7 more remarks are left out."
    assert len(said["history_lines"]) == MAX_REMARKS + 7
    exactly = of_bext(Bext(coding_history="prose\r\n" * MAX_REMARKS))
    assert len(exactly["history_remarks"]) == MAX_REMARKS


def test_a_moment_has_no_purpose() -> None:
    moment, stretch = marks_of((Mark(frame=1), Mark(frame=2, frames=0, purpose=b"\xe4bc ")))
    assert (moment.purpose, stretch.purpose) == ("", "äbc ")


def test_a_umid_in_hex() -> None:
    found, _ = umid.decode(umid.basic(bytes(range(240, 256))))
    assert found is not None
    assert umid_of(found).material_number == bytes(range(240, 256)).hex()


def test_what_a_cart_leaves_empty_is_left_out() -> None:
    found, _ = cart.decode(b"0101".ljust(2048, b"\0"))
    assert found is not None
    assert cart_of(found).texts == {"version": "0101"}


@pytest.mark.parametrize(
    ("chunk", "content", "root", "namespace", "codes"),
    [
        ("iXML", b"<BWFXML/>", "BWFXML", "", []),
        ("iXML", b"<other/>", "other", "", ["ixml-other-root"]),
        ("axml", b'<a xmlns="urn:b"/>', "a", "urn:b", []),
        ("axml", b"<a", "", "", ["xml-malformed"]),
        ("iXML", b"<!DOCTYPE a><a/>", "", "", ["xml-unsafe"]),
    ],
)
def test_a_document(
    chunk: str, content: bytes, root: str, namespace: str, codes: list[str]
) -> None:
    document, findings = document_of(chunk, content, PLACE)
    assert (document.chunk, document.octets) == (chunk, len(content))
    assert (document.root, document.namespace) == (root, namespace)
    assert [finding.code for finding in findings] == codes
    assert [finding.place for finding in findings] == [PLACE] * len(codes)
    assert (document.ixml is not None) == (content == b"<BWFXML/>")
