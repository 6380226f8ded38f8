"""A person's answers: what they answer, what they cannot, and where they look for it."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from tailsout.ground.findings import Finding, Place, Severity, Verdict
from tailsout.mapping.sidecar import SIDECAR_NEWER
from tailsout.records.capture import Capture
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import Embedded, EmbeddedHistoryLine
from tailsout.records.machine import CareEvent, Machine
from tailsout.records.reel import Event, Reel, Region, Side
from tailsout.records.statements import Answer
from tailsout.records.transfer import SourceFile, Transfer
from tailsout.rules import answers, judge
from tailsout.rules.answers import ANSWER_TO_NOTHING

Stating = Callable[[Transfer], Dossier]
Stated = Callable[..., Transfer]
TRANSFER = "data/audio/reel.json#/transfer"
SOURCES = (SourceFile(file="captures/reel.wav", octets=1, frames=1, sha256=""),)
FIRST_RUN = "p1"
HEADS_OUT = Reel(end_out_on_leaving="heads")
END_OUT, AT_THE_END = "end-out-contradicts", "reel.end_out_on_leaving"


def answer(code: str, place: str, reason: str = "the archive keeps its reels so") -> Answer:
    return Answer(
        code=code,
        place=place,
        decision="accepted as is",
        reason=reason,
        by="isolde",
        on="2026-03-15",
    )


def told(dossier: Dossier) -> list[tuple[str, str, bool]]:
    """Give code, place and whether it was answered of every finding."""
    return [(f.code, str(f.place), bool(f.answered)) for f in judge(dossier).findings]


# A query that was answered


def test_an_answered_query_is_a_note_and_the_verdict_follows(
    transfer: Stated, stating: Stating
) -> None:
    open_question = judge(stating(transfer(reel=HEADS_OUT)))
    [asked] = open_question.findings
    assert (asked.code, asked.answer_at, asked.answered) == (END_OUT, AT_THE_END, "")
    assert (asked.severity, open_question.verdict) == (Severity.QUERY, Verdict.OPEN)

    given = (answer(asked.code, asked.answer_at),)
    settled = judge(stating(transfer(reel=HEADS_OUT, answers=given)))
    [answered] = settled.findings
    assert (answered.kind, answered.place, answered.text) == (asked.kind, asked.place, asked.text)
    assert answered.answered == (
        "accepted as is by isolde on 2026-03-15: the archive keeps its reels so"
    )
    assert (answered.severity, answered.verdict) == (Severity.NOTE, Verdict.PASS)
    assert settled.verdict is Verdict.PASS


@pytest.mark.parametrize(
    ("code", "place"),
    [
        (END_OUT, "reel.end_out_on_arrival"),
        (END_OUT, "reel"),
        (END_OUT, ""),
        (END_OUT, f"{AT_THE_END} "),
        (END_OUT, "/reel/end_out_on_leaving"),
        ("last-motion-contradicts", AT_THE_END),
        ("", AT_THE_END),
    ],
)
def test_code_and_place_must_both_be_right(
    transfer: Stated, stating: Stating, code: str, place: str
) -> None:
    given = (answer(code, place),)
    dossier = stating(transfer(reel=HEADS_OUT, answers=given))
    assert told(dossier) == [
        (END_OUT, f"{TRANSFER}/reel/end_out_on_leaving", False),
        ("answer-to-nothing", f"{TRANSFER}/answers/0", False),
    ]
    assert judge(dossier).verdict is Verdict.OPEN


def test_a_strangers_answer_is_shown_escaped(transfer: Stated, stating: Stating) -> None:
    given = (answer(END_OUT, AT_THE_END, "\x1b[2J"), answer("\x1b[2J", "\u202ereel"))
    findings = judge(stating(transfer(reel=HEADS_OUT, answers=given))).findings
    shown = "".join(f.answered + f.text for f in findings)
    assert "\\x1b[2J" in shown
    assert shown.isprintable()


def test_one_query_that_is_answered_leaves_another_open(transfer: Stated, stating: Stating) -> None:
    reel = replace(HEADS_OUT, last_motion="tail to head")
    given = (answer("last-motion-contradicts", "reel.last_motion"),)
    dossier = stating(transfer(reel=reel, answers=given))
    assert told(dossier) == [("last-motion-contradicts", f"{TRANSFER}/reel/last_motion", True)]
    both = replace(reel, end_out_on_leaving="tails")
    dossier = stating(transfer(reel=both, answers=given))
    assert told(dossier) == [
        (END_OUT, f"{TRANSFER}/reel/end_out_on_leaving", False),
        ("last-motion-contradicts", f"{TRANSFER}/reel/last_motion", True),
    ]
    assert judge(dossier).verdict is Verdict.OPEN


# Two findings of one code


def regions(*spans: tuple[int, int]) -> Reel:
    """A side whose regions overlap where the spans do."""
    made = tuple(
        Region(id=f"A{n}", kind="programme", capture="reel", start=start, end=end)
        for n, (start, end) in enumerate(spans)
    )
    return Reel(sides=(Side(id="A", regions=made),))


def test_of_two_findings_of_one_code_the_one_at_its_place_is_answered(
    transfer: Stated, stating: Stating
) -> None:
    reel = regions((0, 20_000), (10_000, 30_000), (25_000, 40_000))
    given = (answer("region-overlap", "reel.sides[1].regions[3]"),)
    dossier = stating(transfer(reel=reel, answers=given))
    assert told(dossier) == [
        ("region-overlap", f"{TRANSFER}/reel/sides/0/regions/1", False),
        ("region-overlap", f"{TRANSFER}/reel/sides/0/regions/2", True),
    ]


def twice_at_one_place(
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    embedded: Callable[..., Embedded],
    given: tuple[Answer, ...],
) -> Dossier:
    """A history that names neither the machine nor the device of the chain."""
    lines = (
        EmbeddedHistoryLine(parameters=(("A", "ANALOGUE"), ("T", "another; 19.05 cm/s"))),
        EmbeddedHistoryLine(parameters=(("A", "PCM"), ("F", "48000"), ("W", "24"))),
    )
    stated = received().transfer
    assert stated is not None
    return received(
        files=(file(embedded=embedded(coding_history=lines)),),
        transfer=replace(stated, answers=given),
    )


def test_one_answer_answers_all_findings_of_its_code_and_place(
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    embedded: Callable[..., Embedded],
) -> None:
    at = ("history-chain-differs", "data/audio/reel.wav#bext.CodingHistory")
    dossier = twice_at_one_place(received, file, embedded, ())
    assert told(dossier) == [(*at, False), (*at, False)]
    given = (answer(at[0], "reel bext.CodingHistory"),)
    dossier = twice_at_one_place(received, file, embedded, given)
    assert told(dossier) == [(*at, True), (*at, True)]
    assert judge(dossier).verdict is Verdict.PASS


def test_a_second_answer_to_one_question_answers_nothing(
    transfer: Stated, stating: Stating
) -> None:
    given = (answer(END_OUT, AT_THE_END), answer(END_OUT, AT_THE_END, "no, it is otherwise"))
    dossier = stating(transfer(reel=HEADS_OUT, answers=given))
    found = judge(dossier).findings
    assert [(f.code, f.answered[-2:]) for f in found] == [
        (END_OUT, "so"),
        ("answer-to-nothing", ""),
    ]


# What cannot be answered


def test_an_answer_where_nothing_was_asked(transfer: Stated, stating: Stating) -> None:
    dossier = stating(transfer(answers=(answer(END_OUT, AT_THE_END),)))
    [one] = judge(dossier).findings
    assert (one.code, str(one.place)) == ("answer-to-nothing", f"{TRANSFER}/answers/0")
    assert one.text == f"there is no open question {END_OUT!r} at {AT_THE_END!r}."
    assert judge(dossier).verdict is Verdict.OPEN


def test_that_finding_cannot_be_answered_itself(transfer: Stated, stating: Stating) -> None:
    given = (answer(END_OUT, "x"), answer("answer-to-nothing", "answers[1]"))
    findings = judge(stating(transfer(answers=given))).findings
    assert [f.code for f in findings] == ["answer-to-nothing"] * 2
    assert {(f.answer_at, f.answered) for f in findings} == {("", "")}


def test_what_must_be_mended_is_not_answered_away(transfer: Stated, stating: Stating) -> None:
    place = "reel.sides[1].regions[1]"
    dossier = stating(
        transfer(reel=regions((0, 48_001)), answers=(answer("region-outside", place),))
    )
    found = judge(dossier).findings
    assert [(f.code, f.answer_at, f.answered) for f in found] == [
        ("region-outside", "", ""),
        ("answer-to-nothing", "", ""),
    ]
    assert judge(dossier).verdict is Verdict.FAIL


def test_what_was_not_examined_is_not_answered_away(transfer: Stated, stating: Stating) -> None:
    met = SIDECAR_NEWER.at(Place(file="data/audio/reel.json", part="/schema"), "it is newer.")
    for place in ("reel /schema", "schema", ""):
        stated = transfer(answers=(answer("sidecar-newer", place),))
        dossier = replace(stating(stated), reading=(met,))
        found = judge(dossier).findings
        assert {(f.code, f.answer_at, f.answered) for f in found} == {
            ("sidecar-newer", "", ""),
            ("answer-to-nothing", "", ""),
        }
        assert judge(dossier).verdict is Verdict.NOT_EXAMINED


def test_a_note_asks_nothing(transfer: Stated, stating: Stating) -> None:
    given = (answer("told-afterwards", "kind"),)
    found = judge(stating(transfer(kind="retrospective", answers=given))).findings
    assert [(f.code, f.answered) for f in found] == [
        ("answer-to-nothing", ""),
        ("told-afterwards", ""),
    ]


# What was asked elsewhere


def test_an_answer_to_what_could_not_be_examined_here_waits(
    transfer: Stated, stating: Stating
) -> None:
    """A job has no history of ours yet; its package will."""
    given = (answer("history-chain-differs", "reel bext.CodingHistory"),)
    dossier = replace(stating(transfer(answers=given)), origin="closing")
    assert told(dossier) == [("answer-to-nothing", f"{TRANSFER}/answers/0", False)]
    unread = replace(dossier, examined=dossier.examined - {"side-cars"})
    assert told(unread) == []


def test_an_answer_about_the_sound_waits_while_nothing_is_measured(
    transfer: Stated, stating: Stating
) -> None:
    """A job is planned before its captures are read; the question comes with the reading."""
    given = (answer("bits-unused", "reel"),)
    job = replace(stating(transfer(answers=given)), origin="closing")
    assert told(job) == [("answer-to-nothing", f"{TRANSFER}/answers/0", False)]
    planned = replace(job, examined=job.examined - {"measurements"})
    assert told(planned) == []


def test_an_answer_about_a_captures_header_is_no_more_needed_once_it_is_packed(
    transfer: Stated, stating: Stating
) -> None:
    """The master's bext chunk has the day that was stated, so nobody asks again."""
    given = (answer("bext-date-differs", "reel bext.OriginationDate"),)
    packed = stating(transfer(answers=given))
    assert told(packed) == []
    assert told(replace(packed, origin="closing")) == [
        ("answer-to-nothing", f"{TRANSFER}/answers/0", False)
    ]


# One key, in the job as in the package


def as_a_job(packed: Dossier) -> Dossier:
    """The same transfer as its forms state it: other files, other places."""
    files = tuple(
        replace(f, path=f"captures/{f.path.rpartition('/')[2]}", sidecar=None) for f in packed.files
    )
    places = {
        "": Place(file="job.toml"),
        "/machines/0": Place(file="studio/machines/left.toml"),
    }
    examined = packed.examined & {"statements", "headers", "samples", "measurements"}
    return replace(
        packed, origin="closing", files=files, package=None, examined=examined, places=places
    )


def asked(dossier: Dossier) -> list[Finding]:
    return [f for f in judge(dossier).findings if f.answer_at]


@pytest.mark.parametrize(
    ("stated", "key"),
    [
        ({"reel": HEADS_OUT}, (END_OUT, AT_THE_END)),
        (
            {"reel": Reel(last_motion="tail to head")},
            ("last-motion-contradicts", "reel.last_motion"),
        ),
        (
            {
                "reel": Reel(
                    events=(
                        Event(kind="inspection", on="2026-03-13"),
                        Event(kind="cleaning", on="2026-03-12"),
                    )
                )
            },
            ("dates-out-of-order", "reel.events[2].on"),
        ),
        (
            {
                "machines": (
                    Machine(
                        id="left",
                        maker="Tidewright",
                        model="Mark 3",
                        care=(
                            CareEvent(kind="cleaned", on="2026-03-13"),
                            CareEvent(kind="calibrated", on="2026-03-12"),
                        ),
                    ),
                )
            },
            ("dates-out-of-order", "machines[1].care[2].on"),
        ),
        (
            {"reel": regions((0, 20_000), (10_000, 30_000))},
            ("region-overlap", "reel.sides[1].regions[2]"),
        ),
        ({"kind": "record only"}, ("not-played-unexplained", "kind")),
        (
            {
                "captures": (
                    Capture(
                        id="reel", file="captures/reel.wav", pass_id=FIRST_RUN, started="2026-03-15"
                    ),
                )
            },
            ("bext-date-differs", "reel bext.OriginationDate"),
        ),
    ],
)
def test_the_key_is_the_same_for_a_job_and_for_the_package_made_of_it(
    transfer: Stated, stating: Stating, stated: dict[str, object], key: tuple[str, str]
) -> None:
    packed = stating(transfer(**stated))
    job = as_a_job(packed)
    for dossier in (packed, job):
        assert [(f.code, f.answer_at) for f in asked(dossier)] == [key]
    assert [str(f.place) for f in asked(packed)] != [str(f.place) for f in asked(job)]
    # One answer settles both.
    given = transfer(**stated, answers=(answer(*key),))
    for dossier in (stating(given), as_a_job(stating(given))):
        assert [bool(f.answered) for f in asked(dossier)] == [True]
        assert judge(dossier).verdict is Verdict.PASS


def test_a_capture_without_a_day_has_one_key_too(
    transfer: Stated, stating: Stating, embedded: Callable[..., Embedded]
) -> None:
    capture = Capture(id="reel", file="captures/reel.wav")
    packed = stating(transfer(captures=(capture,)))
    files = tuple(replace(f, embedded=embedded(origination_date="")) for f in packed.files)
    packed = replace(packed, files=files)
    for dossier in (packed, as_a_job(packed)):
        [one] = [f for f in asked(dossier) if f.code == "capture-date-unknown"]
        assert one.answer_at == "captures[1]"


@pytest.mark.parametrize(
    ("pointer", "shown"),
    [
        ("", ""),
        ("/kind", "kind"),
        ("/reel/sides/1/id", "reel.sides[2].id"),
        ("/a/0/1", "a[1][2]"),
        ("/a/²", "a.²"),
        ("/a/\x1b", "a.\\x1b"),
    ],
)
def test_a_place_as_people_write_it(pointer: str, shown: str) -> None:
    assert answers.dotted(pointer) == shown


def test_without_a_transfer_there_are_no_answers(foreign: Dossier) -> None:
    finding = ANSWER_TO_NOTHING.at(Place(file="a"), "it asks.")
    [one] = answers.apply(foreign, [finding])
    assert (one.answered, one.answer_at) == ("", "a")


def test_a_file_is_known_by_the_recorders_name_whatever_its_master_is_called(
    received: Callable[..., Dossier],
) -> None:
    """A recipient's template may call the master otherwise; the answer was given in the job."""
    (file,) = received().files
    source = replace(file, path="captures/reel.wav", sidecar=None, sources=SOURCES)
    job = received(origin="closing", files=(source,), places={})
    asked = ANSWER_TO_NOTHING.at(Place(file="captures/reel.wav", part="bext.Version"), "x")
    key = answers.key_of(job, asked)
    assert key == (ANSWER_TO_NOTHING.code, "reel bext.Version")
    master = replace(file, path="data/Preservation/SKL-7_A_pm.wav", sources=SOURCES)
    package = received(files=(master,), places={})
    for path in (master.path, "data/Preservation/SKL-7_A_pm.json"):
        there = ANSWER_TO_NOTHING.at(Place(file=path, part="bext.Version"), "x")
        assert answers.key_of(package, there) == key
