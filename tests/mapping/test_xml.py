"""The door for XML: well-formed documents of strangers are read, dangerous ones are not.

The cases are those that OWASP's sheet on external entities lists (CWE-611, CWE-776), and what the
parser met in trials; XML 1.0 and Namespaces in XML 1.0 say what is well-formed.
"""

import http.server
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Place, Verdict
from tailsout.mapping import xml
from tailsout.mapping.xml import Element
from tailsout.wave import xmlchunks

HERE = Place(file="data/audio/SKL-0007-a.wav", part="iXML")

LAUGHS = "".join(
    f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' if n else '<!ENTITY l0 "ha">' for n in range(10)
)


def read(document: str | bytes, most_octets: int = 1 << 20) -> tuple[Element | None, list[str]]:
    content = document.encode() if isinstance(document, str) else document
    root, findings = xml.read(content, HERE, most_octets=most_octets)
    assert all(one.place == HERE and one.text.endswith(".") for one in findings)
    return root, [one.code for one in findings]


def root_of(document: str | bytes) -> Element:
    root, codes = read(document)
    assert codes == []
    assert root is not None
    return root


def nested(levels: int) -> str:
    return "<a>" * levels + "</a>" * levels


# What is read


def test_a_document_is_read_with_its_names_text_and_attributes() -> None:
    root = root_of('<?xml version="1.0"?>\n<r xmlns="urn:a"><p q="1">lamp &amp; &#x2014;</p></r>\n')

    assert root.tag == "{urn:a}r"
    (child,) = root
    assert (child.tag, child.text, dict(child.attrib)) == ("{urn:a}p", "lamp & —", {"q": "1"})


def test_comments_and_instructions_are_left_out_and_text_stays_whole() -> None:
    root = root_of("<?p q?><!-- a --><r>one<?p q?> two<!-- b --> three<![CDATA[<four>]]></r><?p?>")

    assert root.text == "one two three<four>"
    assert list(root) == []


def test_the_five_entities_are_known() -> None:
    assert root_of("<r>&lt;&gt;&amp;&apos;&quot;</r>").text == "<>&'\""


def test_what_looks_like_a_document_type_in_text_is_text() -> None:
    for document in (
        "<!-- <!DOCTYPE r> --><r/>",
        "<?p <!DOCTYPE r> ?><r/>",
        "<r><![CDATA[<!DOCTYPE r>]]></r>",
        "<r>&lt;!DOCTYPE r></r>",
    ):
        assert root_of(document).tag == "r"


ENCODED = {
    "utf-8": "<r>Ā é</r>".encode(),
    "utf-8 declared": "<?xml version='1.0' encoding='utf-8' standalone='yes' ?><r>Ā é</r>".encode(),
    "utf-8 with its mark": "\ufeff<?xml version='1.0' encoding='UTF-8'?><r>Ā é</r>".encode(),
    "utf-16": '<?xml version="1.0" encoding="UTF-16"?><r>Ā é</r>'.encode("utf-16"),
    "utf-16 the other way": "\ufeff<r>Ā é</r>".encode("utf-16-be"),
}


@pytest.mark.parametrize("name", ENCODED)
def test_encodings_that_are_read(name: str) -> None:
    assert root_of(ENCODED[name]).text == "Ā é"


def test_encodings_of_one_octet_a_character() -> None:
    latin = '<?xml version="1.0" encoding="ISO-8859-1"?><r>caf\xe9</r>'.encode("latin-1")
    assert root_of(latin).text == "café"
    ascii_only = b'<?xml version="1.0" encoding="us-ascii"?><r>caf&#xE9;</r>'
    assert root_of(ascii_only).text == "café"


# G01 to G04: a document type, entities, anything to fetch

UNSAFE = {
    "a bare type": "<!DOCTYPE r><r/>",
    "an outside type": '<!DOCTYPE r SYSTEM "http://127.0.0.1/r.dtd"><r/>',
    "a public type": '<!DOCTYPE r PUBLIC "-//X//Y" "r.dtd"><r/>',
    "a type behind a comment": "<?xml version='1.0'?>\n<!-- x -->\n<?p q?>\n<!DOCTYPE r><r/>",
    "an entity": '<!DOCTYPE r [<!ENTITY x "y">]><r>&x;</r>',
    "billion laughs": f"<!DOCTYPE r [{LAUGHS}]><r>&l9;</r>",
    "quadratic": f'<!DOCTYPE r [<!ENTITY x "{"x" * 50_000}">]><r>{"&x;" * 5_000}</r>',
    "a local file": '<!DOCTYPE r [<!ENTITY x SYSTEM "file:///etc/passwd">]><r>&x;</r>',
    "a parameter entity": '<!DOCTYPE r [<!ENTITY % p SYSTEM "file:///etc/passwd"> %p;]><r/>',
    "a default attribute": '<!DOCTYPE r [<!ATTLIST r a CDATA "b">]><r/>',
    "a type never ended": "<!DOCTYPE r [",
}


@pytest.mark.parametrize("name", UNSAFE)
def test_any_document_type_is_unsafe(name: str) -> None:
    assert read(UNSAFE[name]) == (None, ["xml-unsafe"])
    assert read(UNSAFE[name].encode("utf-16")) == (None, ["xml-unsafe"])


def test_a_type_that_only_the_parser_sees_is_unsafe_too() -> None:
    root, (finding,) = xml._parsed("\ufeff<!DOCTYPE r [<!ENTITY x 'y'>]><r>&x;</r>", HERE)

    assert root is None
    assert finding.code == "xml-unsafe"


def test_what_is_unsafe_fails() -> None:
    assert xml.XML_UNSAFE.verdict is Verdict.FAIL


def test_an_entity_that_nothing_declares_is_malformed() -> None:
    assert read("<r>&nbsp;</r>") == (None, ["xml-malformed"])
    assert read('<r a="&nbsp;"/>') == (None, ["xml-malformed"])


class Counting(http.server.BaseHTTPRequestHandler):
    """Counts who comes by."""

    hits = 0

    def do_GET(self) -> None:
        Counting.hits += 1
        self.send_error(404)

    def log_message(self, *args: object) -> None:
        pass


@pytest.fixture
def address() -> Iterator[str]:
    Counting.hits = 0
    server = http.server.HTTPServer(("127.0.0.1", 0), Counting)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join()
    server.server_close()


def test_nothing_is_fetched(address: str, tmp_path: Path) -> None:
    secret = tmp_path / "secret.xml"
    secret.write_text("<secret/>", "utf-8")
    included = (
        '<r xmlns:xi="http://www.w3.org/2001/XInclude">'
        f'<xi:include href="{secret.as_uri()}"/><xi:include href="{address}/a.xml"/></r>'
    )
    root = root_of(included)
    assert [child.tag for child in root] == ["{http://www.w3.org/2001/XInclude}include"] * 2

    pointing = (
        f'<?xml-stylesheet type="text/xsl" href="{address}/a.xsl"?>'
        '<r xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" '
        f'xsi:schemaLocation="urn:a {address}/a.xsd"/>'
    )
    assert root_of(pointing).tag == "r"
    assert read(f'<!DOCTYPE r SYSTEM "{address}/r.dtd"><r/>') == (None, ["xml-unsafe"])
    assert Counting.hits == 0


# G05: depth, length, number


def test_depth_is_bounded() -> None:
    assert root_of(nested(xml.MAX_DEPTH)).tag == "a"
    for levels in (xml.MAX_DEPTH + 1, 255, 257, 100_000):
        assert read(nested(levels)) == (None, ["xml-too-large"])
    assert root_of("<r>" + "<a></a>" * 1000 + "</r>").tag == "r"


def test_octets_are_bounded_by_the_caller_and_once_for_all() -> None:
    assert read("<r>xx</r>", 8) == (None, ["xml-too-large"])
    assert read("<r>xx</r>", 9)[1] == []
    content = b"<r/>" + b" " * xmlchunks.MAX_OCTETS
    assert xml.read(content, HERE)[1][0].code == "xml-too-large"
    assert xml.read(content[: xmlchunks.MAX_OCTETS], HERE)[1] == ()
    endless = b" " * (xml.MAX_OCTETS + 1)
    assert read(endless, 1 << 40) == (None, ["xml-too-large"])


@pytest.mark.parametrize(
    "document",
    [
        "<r>" + "<a/>" * xml.MAX_MARKS + "</r>",
        "<r " + " ".join(f'a{n}=""' for n in range(xml.MAX_MARKS + 1)) + "/>",
        f"<{'a' * 60_000}/>",
        f"<r>{'x' * 10_100_000}</r>",
        f'<r a="{"x" * 10_100_000}"/>',
    ],
    ids=["elements", "attributes", "a name", "a text", "a value"],
)
def test_counts_and_lengths_are_bounded(document: str) -> None:
    assert read(document, xml.MAX_OCTETS) == (None, ["xml-too-large"])


def test_what_is_too_large_is_told_and_weighs_nothing() -> None:
    assert xml.XML_TOO_LARGE.verdict is Verdict.PASS


# G06: encodings that lie, NUL, control characters; and whatever else is not well-formed

MALFORMED = {
    "nothing": b"",
    "blanks": b" \n",
    "no XML": b"PROJECT=SKL",
    "cut off": b"<r><a>",
    "a bare ampersand": b"<r>lamp & sea</r>",
    "two roots": b"<r/><r/>",
    "an attribute twice": b'<r a="1" a="2"/>',
    "a prefix that is not bound": b"<x:r/>",
    "a declaration not at the start": b" <?xml version='1.0'?><r/>",
    "a declaration twice": b"<?xml version='1.0'?><?xml version='1.0'?><r/>",
    "version 2": b"<?xml version='2.0'?><r/>",
    "a declaration never ended": b"<?xml version='1.0'",
    "a declaration of nothing": b"<?xml?><r/>",
    "UTF-7": b"<?xml version='1.0' encoding='UTF-7'?><r>+ADw-</r>",
    "UTF-7 far behind": b"<?xml version='1.0' " + b" " * 5000 + b"encoding='UTF-7'?><r/>",
    "a packed encoding": b"<?xml version='1.0' encoding='zip'?><r/>",
    "Windows": b"<?xml version='1.0' encoding='windows-1252'?><r/>",
    "UTF-32": "<r/>".encode("utf-32"),
    "UTF-16 without its mark": "<r/>".encode("utf-16-le"),
    "UTF-16 in name only": b'<?xml version="1.0" encoding="utf-16"?><r/>',
    "UTF-8 in name only": '\ufeff<?xml version="1.0" encoding="utf-8"?><r/>'.encode("utf-16-le"),
    "a mark of UTF-8 before Latin": b"\xef\xbb\xbf<?xml version='1.0' encoding='iso-8859-1'?><r/>",
    "two marks": b"\xef\xbb\xbf\xef\xbb\xbf<r/>",
    "two marks before a type": "\ufeff\ufeff<!DOCTYPE r><r/>".encode("utf-16-le"),
    "Latin for UTF-8": b"<r>caf\xe9</r>",
    "Latin for ASCII": b"<?xml version='1.0' encoding='US-ASCII'?><r>caf\xe9</r>",
    "an overlong octet": b"<r>\xc0\xaf</r>",
    "half a character": b"<r>\xed\xa0\x80</r>",
    "half a character of UTF-16": b"\xff\xfe" + "<r>".encode("utf-16-le") + b"\x00\xd8<\0",
    "half a character by number": b"<r>&#xD800;</r>",
    "NUL": b"<r>a\0b</r>",
    "NUL behind the end": b"<r/>\0<r/>",
    "NUL by number": b"<r>&#0;</r>",
    "a control character": b"<r>\x1b[2J</r>",
    "no character": "<r>\ufffe</r>".encode(),
}


@pytest.mark.parametrize("name", MALFORMED)
def test_what_is_not_well_formed_is_a_question(name: str) -> None:
    assert read(MALFORMED[name]) == (None, ["xml-malformed"])
    assert xml.XML_MALFORMED.verdict is Verdict.OPEN


def test_a_finding_shows_nothing_that_could_command_a_terminal() -> None:
    for document in ("<r>&a\u202eb;</r>", "<r a\u0085b='1' a\u0085b='2'/>", "<r>\x1b</r>"):
        _, (finding,) = xml.read(document.encode(), HERE)
        assert finding.text.isprintable()


def test_where_an_encoding_breaks_is_told_from_the_first_octet() -> None:
    _, (finding,) = xml.read(b"\xef\xbb\xbf<r>\xff</r>", HERE)

    assert finding.text == "it is not UTF-8 at octet 6."


# G07, G08: what is well-formed and odd


def test_an_id_twice_and_a_prefix_bound_anew_are_no_matter_of_this_door() -> None:
    root = root_of(
        '<r xmlns:x="urn:a"><a xml:id="i"/><b xml:id="i"/><x:c xmlns:x="urn:b"/><x:c/></r>'
    )
    assert [child.tag for child in root] == ["a", "b", "{urn:b}c", "{urn:a}c"]


def test_text_is_never_taken_for_a_path() -> None:
    root = root_of("<r><a>'] | //*</a></r>")
    found = root.find("a")
    assert found is not None
    assert found.text == "'] | //*"


SMALL = b'<?xml version="1.0" encoding="UTF-8"?><r a="1"><!-- b --><c>d</c></r>'


@pytest.mark.parametrize("end", range(len(SMALL)))
def test_cut_off_anywhere_it_is_told(end: int) -> None:
    assert read(SMALL[:end]) == (None, ["xml-malformed"])


@given(
    st.binary(max_size=80)
    | st.text("<>/!?[]-&;='\" raDOCTYPENxml\0\ufeff", max_size=60).map(str.encode)
    | st.tuples(st.integers(0, len(SMALL)), st.binary(max_size=4)).map(
        lambda cut: SMALL[: cut[0]] + cut[1] + SMALL[cut[0] + len(cut[1]) :]
    )
)
def test_no_octets_whatever_raise(content: bytes) -> None:
    root, codes = read(content)

    assert (root is None) == (len(codes) == 1)


# G09: what we write


def test_a_document_of_ours() -> None:
    root = xml.element(
        "{urn:a}r",
        [
            xml.element("{urn:a}p", "lamp & <sea> — ö", attributes={"{urn:b}q": 'a"b\n'}),
            xml.element("{urn:a}s", [xml.element("{urn:a}t")]),
        ],
        prefixes={None: "urn:a", "b": "urn:b"},
    )
    wanted = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<r xmlns="urn:a" xmlns:b="urn:b">\n'
        '  <p b:q="a&quot;b&#10;">lamp &amp; &lt;sea&gt; — ö</p>\n'
        "  <s>\n"
        "    <t/>\n"
        "  </s>\n"
        "</r>\n"
    )
    assert xml.write(root).decode() == wanted
    assert xml.write(root).decode() == wanted  # the tree is left as it was


XML_TEXT = st.text(
    st.characters(codec="utf-8", exclude_characters=[chr(n) for n in range(32)])
    | st.sampled_from("\t\n\r]>&<"),
    max_size=40,
).filter(lambda text: not {"\ufffe", "\uffff"} & set(text))


@given(XML_TEXT)
@example("]]>")
@example("a\r\nb\rc")
@example(" \u2028\x85\x7f ")
def test_text_and_attributes_are_written_and_read_back(text: str) -> None:
    made = xml.element("r", [xml.element("a", text, attributes={"b": text})])
    child = root_of(xml.write(made)).find("a")

    assert child is not None
    assert (child.text or "") == text
    assert child.attrib["b"] == text


@given(st.text(st.characters(codec=None, categories=None), max_size=20))
@example("\0")
@example("\x1b")
@example("\ud800")
@example("\uffff")
def test_any_text_is_written_or_refused(text: str) -> None:
    try:
        made = xml.element("r", text)
    except MaterialError:
        # XML 1.0 §2.2: all of Unicode but most controls, surrogates, U+FFFE and U+FFFF.
        assert not all(c in "\t\n\r" or (c >= " " and c.isprintable()) for c in text)
        return
    assert (root_of(xml.write(made)).text or "") == text


def test_an_attribute_that_xml_cannot_hold_is_refused() -> None:
    with pytest.raises(MaterialError, match=r"U\+001B"):
        xml.element("r", attributes={"a": "\x1b"})
