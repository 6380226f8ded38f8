"""EBUCore in an `axml` chunk (EBU Tech 3285 s5, Tech 3293).

Namespaces and root are those of version 1.10; its schema is nobody's to hand out, so that order and
parts are from memory.
"""

import pytest

from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Place
from tailsout.ground.pcm import Pcm
from tailsout.mapping import axml, xml
from tailsout.mapping.xml import Element
from tailsout.wave.marks import Mark

HERE = Place(file="data/audio/SKL-0007-a.wav", part="axml")
PCM = Pcm(is_float=False, sample_rate_hz=96_000, channels=2, container_bits=24, valid_bits=24)


def root_of(document: bytes) -> Element:
    root, findings = xml.read(document, HERE)
    assert findings == ()
    assert root is not None
    return root


def test_a_document_of_ours() -> None:
    document = axml.build(
        title="The lamp keeper's evening",
        identifier="SKL-0007",
        created="2026-05-09",
        pcm=PCM,
        frames=288_000,
        marks=(
            Mark(frame=96_000, frames=48_000, label="side A", note="wind & sea"),
            Mark(frame=200_000, label="splice"),
        ),
    )
    assert document.decode() == (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<ebuCoreMain xmlns="urn:ebu:metadata-schema:ebucore"'
        ' xmlns:dc="http://purl.org/dc/elements/1.1/">\n'
        "  <coreMetadata>\n"
        "    <title>\n"
        "      <dc:title>The lamp keeper's evening</dc:title>\n"
        "    </title>\n"
        "    <date>\n"
        '      <created startDate="2026-05-09"/>\n'
        "    </date>\n"
        "    <format>\n"
        "      <audioFormat>\n"
        "        <samplingRate>96000</samplingRate>\n"
        "        <sampleSize>24</sampleSize>\n"
        "        <sampleType>integer</sampleType>\n"
        "        <channels>2</channels>\n"
        "      </audioFormat>\n"
        "      <duration>\n"
        '        <editUnitNumber editRate="96000">288000</editUnitNumber>\n'
        "      </duration>\n"
        "    </format>\n"
        "    <identifier>\n"
        "      <dc:identifier>SKL-0007</dc:identifier>\n"
        "    </identifier>\n"
        '    <part partId="1" partName="side A">\n'
        "      <description>\n"
        "        <dc:description>wind &amp; sea</dc:description>\n"
        "      </description>\n"
        "      <partStartTime>\n"
        '        <editUnitNumber editRate="96000">96000</editUnitNumber>\n'
        "      </partStartTime>\n"
        "      <partDuration>\n"
        '        <editUnitNumber editRate="96000">48000</editUnitNumber>\n'
        "      </partDuration>\n"
        "    </part>\n"
        '    <part partId="2" partName="splice">\n'
        "      <partStartTime>\n"
        '        <editUnitNumber editRate="96000">200000</editUnitNumber>\n'
        "      </partStartTime>\n"
        "    </part>\n"
        "  </coreMetadata>\n"
        "</ebuCoreMain>\n"
    )


def test_what_is_not_known_is_left_out_and_float_is_told() -> None:
    floating = Pcm(
        is_float=True, sample_rate_hz=48_000, channels=1, container_bits=32, valid_bits=32
    )
    root = root_of(
        axml.build(title="t", identifier="i", created="", pcm=floating, frames=0, marks=())
    )
    (core,) = root
    names = [axml.name_of(child)[0] for child in core]
    assert names == ["title", "format", "identifier"]
    kind = core.find(
        "{urn:ebu:metadata-schema:ebucore}format/{urn:ebu:metadata-schema:ebucore}audioFormat/"
        "{urn:ebu:metadata-schema:ebucore}sampleType"
    )
    assert kind is not None
    assert kind.text == "float"


def test_text_that_xml_cannot_hold_is_refused() -> None:
    with pytest.raises(MaterialError, match=r"U\+001B"):
        axml.build(title="\x1b", identifier="i", created="", pcm=PCM, frames=0)
    with pytest.raises(MaterialError, match=r"U\+FFFF"):
        axml.build(
            title="t",
            identifier="i",
            created="",
            pcm=PCM,
            frames=0,
            marks=(Mark(frame=0, label="\uffff"),),
        )


@pytest.mark.parametrize(
    ("document", "name"),
    [
        (b"<audioFormatExtended/>", ("audioFormatExtended", "")),
        (b'<e:r xmlns:e="urn:a"/>', ("r", "urn:a")),
        (
            axml.build(title="t", identifier="i", created="", pcm=PCM, frames=0),
            ("ebuCoreMain", "urn:ebu:metadata-schema:ebucore"),
        ),
    ],
)
def test_a_document_is_told_by_its_root(document: bytes, name: tuple[str, str]) -> None:
    assert axml.name_of(root_of(document)) == name
