"""iXML, an open specification without a schema: names from memory of it, and from wavinfo."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Place, Verdict
from tailsout.mapping import ixml, xml
from tailsout.records.ixml import Ixml, IxmlTrack, SyncPoint
from tailsout.wave.marks import Mark

HERE = Place(file="captures/skl-0007.wav", part="iXML")

# As a field recorder writes it; the place, the reel and the studio are invented.
RECORDED = """<?xml version="1.0" encoding="UTF-8"?>
<BWFXML>
  <IXML_VERSION>1.61</IXML_VERSION>
  <PROJECT>Skerrow Light</PROJECT>
  <SCENE>2</SCENE>
  <TAKE>3</TAKE>
  <TAPE>SKL-0007</TAPE>
  <CIRCLED>FALSE</CIRCLED>
  <FILE_UID>SALTPAN000420260509073525</FILE_UID>
  <NOTE> wind on the lamp room door </NOTE>
  <SPEED>
    <FILE_SAMPLE_RATE>48000</FILE_SAMPLE_RATE>
    <DIGITIZER_SAMPLE_RATE>48048</DIGITIZER_SAMPLE_RATE>
    <AUDIO_BIT_DEPTH>24</AUDIO_BIT_DEPTH>
    <TIMECODE_RATE>25/1</TIMECODE_RATE>
    <TIMESTAMP_SAMPLE_RATE>48000</TIMESTAMP_SAMPLE_RATE>
    <TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI>1</TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI>
    <TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_LO>7</TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_LO>
  </SPEED>
  <SYNC_POINT_LIST>
    <SYNC_POINT_COUNT>2</SYNC_POINT_COUNT>
    <SYNC_POINT>
      <SYNC_POINT_TYPE>RELATIVE</SYNC_POINT_TYPE>
      <SYNC_POINT_FUNCTION>SLATE_GENERIC</SYNC_POINT_FUNCTION>
      <SYNC_POINT_COMMENT>clap</SYNC_POINT_COMMENT>
      <SYNC_POINT_LOW>96000</SYNC_POINT_LOW>
      <SYNC_POINT_HIGH>0</SYNC_POINT_HIGH>
      <SYNC_POINT_EVENT_DURATION>480</SYNC_POINT_EVENT_DURATION>
    </SYNC_POINT>
    <SYNC_POINT>
      <SYNC_POINT_TYPE>ABSOLUTE</SYNC_POINT_TYPE>
      <SYNC_POINT_FUNCTION>PRE_RECORD_SAMPLECOUNT</SYNC_POINT_FUNCTION>
      <SYNC_POINT_LOW>5</SYNC_POINT_LOW>
    </SYNC_POINT>
  </SYNC_POINT_LIST>
  <HISTORY><ORIGINAL_FILENAME>T03.WAV</ORIGINAL_FILENAME></HISTORY>
  <FILE_SET>
    <TOTAL_FILES>2</TOTAL_FILES>
    <FAMILY_UID>SALTPAN00042</FAMILY_UID>
    <FAMILY_NAME>evening</FAMILY_NAME>
  </FILE_SET>
  <TRACK_LIST>
    <TRACK_COUNT>2</TRACK_COUNT>
    <TRACK>
      <CHANNEL_INDEX>3</CHANNEL_INDEX>
      <INTERLEAVE_INDEX>1</INTERLEAVE_INDEX>
      <NAME>mid</NAME>
      <FUNCTION>M-MID</FUNCTION>
    </TRACK>
    <TRACK><CHANNEL_INDEX>B</CHANNEL_INDEX><NAME/></TRACK>
  </TRACK_LIST>
  <BEXT>
    <BWF_DESCRIPTION>side A</BWF_DESCRIPTION>
    <BWF_TIME_REFERENCE_LOW>7</BWF_TIME_REFERENCE_LOW>
    <OTHER/>
  </BEXT>
</BWFXML>
"""
EMPTY = Ixml(
    version="",
    project="",
    scene="",
    take="",
    tape="",
    note="",
    file_uid="",
    family_uid="",
    family_name="",
    total_files=None,
    original_filename="",
    sample_rate_hz=None,
    digitizer_sample_rate_hz=None,
    bit_depth=None,
    timestamp=None,
    timestamp_sample_rate_hz=None,
    tracks=(),
    sync_points=(),
    bext=(),
)


def parsed(document: str | bytes) -> Ixml:
    content = document.encode() if isinstance(document, str) else document
    root, findings = xml.read(content, HERE)
    assert findings == ()
    assert root is not None
    found, findings = ixml.parse(root, HERE)
    assert findings == ()
    assert found is not None
    return found


def within(inside: str) -> Ixml:
    return parsed(f"<BWFXML>{inside}</BWFXML>")


def test_what_a_recorder_says_is_read() -> None:
    assert parsed(RECORDED) == Ixml(
        version="1.61",
        project="Skerrow Light",
        scene="2",
        take="3",
        tape="SKL-0007",
        note="wind on the lamp room door",
        file_uid="SALTPAN000420260509073525",
        family_uid="SALTPAN00042",
        family_name="evening",
        total_files=2,
        original_filename="T03.WAV",
        sample_rate_hz=48_000,
        digitizer_sample_rate_hz=48_048,
        bit_depth=24,
        timestamp=(1 << 32) + 7,
        timestamp_sample_rate_hz=48_000,
        tracks=(
            IxmlTrack(channel=3, interleave=1, name="mid", function="M-MID"),
            IxmlTrack(channel=None, interleave=None, name="", function=""),
        ),
        sync_points=(
            SyncPoint(
                function="SLATE_GENERIC",
                comment="clap",
                samples=96_000,
                since_midnight=False,
                frames=480,
            ),
            SyncPoint(
                function="PRE_RECORD_SAMPLECOUNT",
                comment="",
                samples=5,
                since_midnight=True,
                frames=0,
            ),
        ),
        bext=(("DESCRIPTION", "side A"), ("TIME_REFERENCE_LOW", "7"), ("OTHER", "")),
    )


def test_every_element_may_be_missing() -> None:
    assert within("") == EMPTY


@pytest.mark.parametrize(
    ("root", "shown"), [("<bwfxml/>", "bwfxml"), ('<BWFXML xmlns="urn:a"/>', "{urn:a}BWFXML")]
)
def test_another_document_is_told_and_weighs_nothing(root: str, shown: str) -> None:
    tree, _ = xml.read(root.encode(), HERE)
    assert tree is not None
    found, (finding,) = ixml.parse(tree, HERE)

    assert found is None
    assert (finding.code, finding.place) == ("ixml-other-root", HERE)
    assert shown in finding.text
    assert finding.verdict is Verdict.PASS


@pytest.mark.parametrize("number", ["", "x", "-1", "1.5", "1e3", "٣", "12345678901", "0x10"])
def test_a_number_that_is_none_is_not_known(number: str) -> None:
    assert within(f"<SPEED><FILE_SAMPLE_RATE>{number}</FILE_SAMPLE_RATE></SPEED>") == EMPTY


@pytest.mark.parametrize(
    ("high", "low", "timestamp"),
    [
        ("0", "4294967295", 0xFFFF_FFFF),
        ("4294967295", "4294967295", (1 << 64) - 1),
        (None, "7", 7),
        ("0", "4294967296", None),
        ("4294967296", "0", None),
        ("x", "7", None),
        ("1", None, None),
    ],
)
def test_a_number_in_two_words(high: str | None, low: str | None, timestamp: int | None) -> None:
    name = "TIMESTAMP_SAMPLES_SINCE_MIDNIGHT"
    halves = (("HI", high), ("LO", low))
    inside = "".join(f"<{name}_{k}>{v}</{name}_{k}>" for k, v in halves if v is not None)

    assert within(f"<SPEED>{inside}</SPEED>").timestamp == timestamp


def test_a_sync_point_without_a_place_is_left_out() -> None:
    point = "<SYNC_POINT><SYNC_POINT_COMMENT>clap</SYNC_POINT_COMMENT></SYNC_POINT>"
    assert within(f"<SYNC_POINT_LIST>{point}</SYNC_POINT_LIST>") == EMPTY


def test_of_an_element_that_comes_twice_the_first_holds() -> None:
    assert within("<TAPE>SKL-0007</TAPE><TAPE>SKL-0008</TAPE>").tape == "SKL-0007"


def test_a_document_of_ours() -> None:
    document = ixml.build(
        project="Skerrow Light",
        tape="SKL-0007",
        note="lamp & sea",
        file_uid="6f1c",
        original_filename="take 3.wav",
        tracks=("left", "right"),
        marks=(Mark(frame=(1 << 32) + 7, label="side A begins", note="spliced", frames=96_000),),
    )
    assert document.decode() == (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        "<BWFXML>\n"
        "  <IXML_VERSION>2.10</IXML_VERSION>\n"
        "  <PROJECT>Skerrow Light</PROJECT>\n"
        "  <TAPE>SKL-0007</TAPE>\n"
        "  <NOTE>lamp &amp; sea</NOTE>\n"
        "  <FILE_UID>6f1c</FILE_UID>\n"
        "  <SYNC_POINT_LIST>\n"
        "    <SYNC_POINT_COUNT>1</SYNC_POINT_COUNT>\n"
        "    <SYNC_POINT>\n"
        "      <SYNC_POINT_TYPE>RELATIVE</SYNC_POINT_TYPE>\n"
        "      <SYNC_POINT_FUNCTION>MARKER_GENERIC</SYNC_POINT_FUNCTION>\n"
        "      <SYNC_POINT_COMMENT>side A begins: spliced</SYNC_POINT_COMMENT>\n"
        "      <SYNC_POINT_LOW>7</SYNC_POINT_LOW>\n"
        "      <SYNC_POINT_HIGH>1</SYNC_POINT_HIGH>\n"
        "      <SYNC_POINT_EVENT_DURATION>96000</SYNC_POINT_EVENT_DURATION>\n"
        "    </SYNC_POINT>\n"
        "  </SYNC_POINT_LIST>\n"
        "  <HISTORY>\n"
        "    <ORIGINAL_FILENAME>take 3.wav</ORIGINAL_FILENAME>\n"
        "  </HISTORY>\n"
        "  <TRACK_LIST>\n"
        "    <TRACK_COUNT>2</TRACK_COUNT>\n"
        "    <TRACK>\n"
        "      <CHANNEL_INDEX>1</CHANNEL_INDEX>\n"
        "      <INTERLEAVE_INDEX>1</INTERLEAVE_INDEX>\n"
        "      <NAME>left</NAME>\n"
        "    </TRACK>\n"
        "    <TRACK>\n"
        "      <CHANNEL_INDEX>2</CHANNEL_INDEX>\n"
        "      <INTERLEAVE_INDEX>2</INTERLEAVE_INDEX>\n"
        "      <NAME>right</NAME>\n"
        "    </TRACK>\n"
        "  </TRACK_LIST>\n"
        "</BWFXML>\n"
    )


def test_what_is_empty_is_left_out() -> None:
    assert parsed(ixml.build()) == replace(EMPTY, version=ixml.VERSION)


def test_text_that_xml_cannot_hold_is_refused() -> None:
    with pytest.raises(MaterialError, match=r"U\+0000"):
        ixml.build(note="\0")


WORDS = st.text(st.characters(codec="ascii", min_codepoint=32), max_size=20).map(str.strip)
MARKS = st.builds(
    Mark,
    frame=st.integers(0, (1 << 64) - 1),
    label=WORDS,
    frames=st.none() | st.integers(1, 1 << 32),
)


@given(
    tape=WORDS, note=WORDS, tracks=st.lists(WORDS, max_size=3), marks=st.lists(MARKS, max_size=3)
)
def test_what_is_written_is_read_back(
    tape: str, note: str, tracks: list[str], marks: list[Mark]
) -> None:
    found = parsed(ixml.build(tape=tape, note=note, tracks=tracks, marks=marks))

    assert (found.tape, found.note) == (tape, note)
    assert [(t.channel, t.interleave, t.name) for t in found.tracks] == [
        (n, n, name) for n, name in enumerate(tracks, start=1)
    ]
    assert [(p.samples, p.comment, p.frames, p.since_midnight) for p in found.sync_points] == [
        (mark.frame, mark.label, mark.frames or 0, False) for mark in marks
    ]


NAMES = ("BWFXML", "SPEED", "TRACK_LIST", "TRACK", "SYNC_POINT_LIST", "SYNC_POINT", "BEXT", "TAPE")


@given(
    st.recursive(
        st.sampled_from(["", "7", "x & y"]).map(lambda text: text.replace("&", "&amp;")),
        lambda inner: st.lists(
            st.tuples(st.sampled_from(NAMES), inner).map(
                lambda one: f"<{one[0]}>{one[1]}</{one[0]}>"
            ),
            max_size=3,
        ).map("".join),
        max_leaves=12,
    )
)
def test_no_tree_whatever_raises(inside: str) -> None:
    assert within(inside).version == ""
