"""Before threading, before unloading, before boxing: what is told, and what is left alone."""

import os
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.errors import MaterialError, UsageError
from tailsout.ground.findings import Verdict
from tailsout.mapping import kept_facts, logbook
from tailsout.records.gate import Gate, Sheet
from tailsout.records.logbook import LogLine
from tailsout.work import calibration, first_pass
from tailsout.work.close_out import close
from tailsout.work.gate import gates, verdict
from tailsout.work.gating import kinds

NOW = datetime(2026, 3, 15, 8, 0, tzinfo=UTC)
REEL = """
[[reel.sides]]
id = "A"

[[passes]]
id = "p1"
machine = "left"
on = 2026-03-14
sides = ["A"]
set_up = { speed_ips = 7.5, equalisation = { standard = "NAB", t1_us = 3180, t2_us = 50 } }
"""
PLAYED = "pass_id = 'p1'\n"
WOUND = "[[reel.events]]\nkind = 'winding'\non = 2026-03-14\ntape_ran = 'tail to head'"
AWAY = """
[[reel.custody]]
holder = "lamp store"

[[reel.events]]
kind = "free end held down"
held_with = "paper band"
opens_how = "by hand"

[[reel.events]]
kind = "re-marking"
new_text = "A 7½"
"""


class Small(Disk):
    """Has room for so many octets."""

    def __init__(self, octets: int) -> None:
        super().__init__()
        self.octets = octets

    def free_octets(self, path: Path) -> int:
        return self.octets


@pytest.fixture
def ask(bench: Any, around: Callable[..., Any]) -> Callable[..., list[Gate]]:
    """Write the form of a job and ask at its gate; every answer in turn."""

    def call(
        more: str = REEL, *, at: Any = None, captures: bool = True, top: str = "", **changed: Any
    ) -> list[Gate]:
        if captures:
            bench.put("captures/a.wav", bench.wave(frames=96_000))
        bench.form({"a": "captures/a.wav"}, top=top, more=more)
        form = bench.job / "job.toml"
        form.write_text(form.read_text() + PLAYED if "[[passes]]" in more else form.read_text())
        return list(gates(bench.job, at, around(instant=NOW, **changed)))

    return call


def codes(gate: Gate) -> list[str]:
    return [one.code for one in gate.findings]


def sheet_of(gate: Gate) -> Sheet:
    assert gate.sheet is not None
    return gate.sheet


def said(gate: Gate, label: str) -> list[str | None]:
    """What stands beside a label, wherever it stands."""
    parts = (*(gate.sheet.parts if gate.sheet else ()), *gate.parts)
    return [one.says for part in parts for one in part.entries if one.label == label]


# Which gate


def test_without_a_capture_it_is_the_gate_before_threading(ask: Callable[..., Any]) -> None:
    (gate,) = ask(captures=False)
    assert (gate.stage, gate.word, gate.why) == ("threading", "GO", "no capture is there yet")


def test_with_captures_it_is_the_gate_before_unloading(ask: Callable[..., Any]) -> None:
    first, last = ask()
    assert (first.stage, first.word, first.is_whole) == ("unloading", "WAIT", False)
    assert (last.stage, last.word, last.is_whole) == ("unloading", "OFF", True)


def test_with_the_free_end_held_it_is_the_gate_before_boxing(ask: Callable[..., Any]) -> None:
    (gate,) = ask(REEL + AWAY)
    assert gate.stage == "boxing"
    assert "free end held down" in gate.why


def test_a_reel_that_is_not_played_is_asked_of_before_boxing(ask: Callable[..., Any]) -> None:
    (gate,) = ask("", captures=False, top='kind = "record only"\nnot_played_because = "torn"')
    assert gate.stage == "boxing"


def test_the_gate_that_is_asked_for_is_the_one(ask: Callable[..., Any]) -> None:
    assert [(one.stage, one.why) for one in ask(at="threading")] == [("threading", "as asked")]


def test_without_a_job_there_is_no_gate(tmp_path: Path, around: Callable[..., Any]) -> None:
    with pytest.raises(UsageError, match=r"no job\.toml"):
        list(gates(tmp_path, None, around()))


def test_nothing_is_written_but_what_is_kept(ask: Callable[..., Any], bench: Any) -> None:
    ask()
    kept = bench.job / ".gate-facts.json"
    assert kept.is_file()
    kept.unlink()
    before = bench.sources()
    ask()
    after = bench.sources()
    after.pop("job/.gate-facts.json")
    assert {k: v for k, v in after.items() if "job.toml" not in k} == {
        k: v for k, v in before.items() if "job.toml" not in k
    }


# Before threading


def planned(base: str, state: str = "proposed") -> str:
    return (
        f"{REEL}\n[[reel.stock]]\nid = 's1'\nbase = 'polyester'\n"
        f"[[reel.stock]]\nid = 's2'\n{base}\n"
        f"[[reel.events]]\nkind = 'treatment'\nstate = '{state}'\n"
    )


@pytest.mark.parametrize("state", ["proposed", "approved"])
@pytest.mark.parametrize(
    "base",
    [
        "base = 'cellulose acetate'",
        "base = 'unknown'",
        "base = 'paper'",
        "",
        "base = 'polyester'\nconfidence = 'uncertain'",
    ],
)
def test_a_treatment_planned_stops_for_the_base_of_any_section(
    ask: Callable[..., Any], base: str, state: str
) -> None:
    (gate,) = ask(planned(base, state), captures=False)
    assert gate.word == "STOP"
    assert verdict(gate) is Verdict.REFUSED
    (stop,) = sheet_of(gate).stops
    assert stop.code == "base-unsettled-before-treatment"
    assert "'s2'" in stop.text
    assert stop.place.line is not None


def test_a_treatment_of_a_tape_nobody_described_stops(ask: Callable[..., Any]) -> None:
    more = f"{REEL}\n[[reel.events]]\nkind = 'treatment'\nstate = 'proposed'\n"
    assert codes(ask(more, captures=False)[0]) == ["base-unsettled-before-treatment"]


@pytest.mark.parametrize(
    "more",
    [
        planned("base = 'PVC'"),
        planned("base = 'cellulose acetate'", "done"),
        planned("base = 'cellulose acetate'", "declined"),
    ],
)
def test_a_base_that_is_settled_or_a_treatment_that_is_past_stops_nothing(
    ask: Callable[..., Any], more: str
) -> None:
    (gate,) = ask(more, captures=False)
    assert (gate.word, codes(gate)) == ("GO", [])


@pytest.mark.parametrize(
    ("condition", "code"),
    [
        ("mould = 'slight'", "carrier-state-unanswered"),
        ("odour = 'vinegar'", "carrier-state-unanswered"),
        ("shedding = 'severe'", "carrier-state-unanswered"),
    ],
)
def test_the_state_of_the_reel_stops(ask: Callable[..., Any], condition: str, code: str) -> None:
    more = f"{REEL}\n[[reel.condition]]\nmoment = 'on arrival'\n{condition}\n"
    (gate,) = ask(more, captures=False)
    assert (gate.word, codes(gate)) == ("STOP", [code])


HEAT = """
[[reel.stock]]
id = "s1"
base = "unknown"

[[reel.events]]
kind = "treatment"
state = "proposed"
temperature_c = 50
"""
ANSWER = """
[[answers]]
code = "heat-and-base-in-question"
place = "reel.events[1]"
decision = "does not apply"
reason = "the owner withdrew it"
by = "isolde"
on = 2026-03-14
"""


@pytest.mark.parametrize("captures", [False, True])
def test_heat_stops_at_this_gate_whether_a_capture_is_there_or_not(
    ask: Callable[..., Any], *, captures: bool
) -> None:
    (gate,) = ask(REEL + HEAT, at="threading", captures=captures)
    assert (gate.word, codes(gate)) == ("STOP", ["heat-and-base-in-question"])


@pytest.mark.parametrize(
    ("state", "word"), [("proposed", "STOP"), ("approved", "STOP"), ("done", "GO")]
)
def test_a_treatment_that_is_only_planned_is_no_word_on_mould(
    ask: Callable[..., Any], state: str, word: str
) -> None:
    more = "[[reel.condition]]\nmoment = 'on arrival'\nmould = 'slight'\n"
    more += f"[[reel.events]]\nkind = 'treatment'\nstate = '{state}'\n"
    stock = "[[reel.stock]]\nid = 's1'\nbase = 'polyester'\n"
    (gate,) = ask(REEL + stock + more, captures=False)
    assert gate.word == word
    assert codes(gate) == (["carrier-state-unanswered"] if word == "STOP" else [])


def test_a_stop_sign_that_a_person_answered_stops_no_longer(ask: Callable[..., Any]) -> None:
    (gate,) = ask(ANSWER + HEAT + REEL, captures=False)
    assert gate.word == "GO"


def test_no_stop_and_no_caution_advises_a_treatment() -> None:
    words = " ".join(one.remedy for one in kinds.KINDS).lower()
    assert not {"bake", "oven", "solvent", "°"} & set(words.split())


def test_a_disk_too_small_is_told_before_the_tape_runs(ask: Callable[..., Any]) -> None:
    more = REEL.replace("[[reel.sides]]", "diameter_in = 7\n[[reel.sides]]", 1)
    (gate,) = ask(more, captures=False, disk=Small(10**8))
    assert codes(gate) == ["disk-too-small"]
    assert verdict(gate) is Verdict.REFUSED
    assert ask(more, captures=False, disk=Small(10**11))[0].word == "GO"


def test_what_is_not_known_is_a_blank_to_fill_in(ask: Callable[..., Any]) -> None:
    (gate,) = ask("", captures=False)
    for label in ("speed, curve", "line-up tones", "RECORD INHIBITED", "machine", "for"):
        assert said(gate, label) == [None], label
    assert said(gate, "OUT NOW") == ["heads [  ]   tails [  ]   (look at the leader)"]


@pytest.mark.parametrize(
    ("reel", "out", "so"),
    [
        ("end_out_on_arrival = 'heads'", "HEADS  (as it arrived)", "plays as the reel lies"),
        ("end_out_on_arrival = 'tails'", "TAILS  (as it arrived)", "wind it through before"),
        (
            f"end_out_on_arrival = 'tails'\n{WOUND}",
            "HEADS  (last run tail to head)",
            "plays as the reel lies",
        ),
    ],
)
def test_the_end_that_is_out_says_whether_to_wind_first(
    ask: Callable[..., Any], reel: str, out: str, so: str
) -> None:
    (gate,) = ask(f"{reel}\n{REEL}", captures=False)
    assert said(gate, "OUT NOW") == [out]
    assert so in str(said(gate, "so")[0])


def test_what_the_tape_was_encoded_with_stands_beside_the_decoder(
    ask: Callable[..., Any],
) -> None:
    region = "[[reel.sides.regions]]\nid = 'r'\nkind = 'programme'\ncapture = 'a'\n"
    region += "start = '0:00'\nnoise_reduction = '{0}'\n"
    for on_tape, told in (("none", None), ("type B", "on the tape: type B")):
        more = REEL.replace('id = "A"', f'id = "A"\n{region.format(on_tape)}', 1)
        assert said(ask(more, captures=False)[0], "noise reduction") == [told]


TAPE = 'id = "{0}"\nspeed_ips = {1}\nequalisation = {{ standard = "{2}", {3} }}\n'


@pytest.mark.parametrize(
    ("tape", "told"),
    [
        (("ct", "7.5", "NAB", "t1_us = 3180, t2_us = 50"), "ct"),
        (
            ("ct", "7.5", "IEC1", "t2_us = 70"),
            "none of this curve; with readings converted and that recorded: ct (IEC1 70 µs)",
        ),
        (("ct", "15", "NAB", "t1_us = 3180, t2_us = 50"), "no tape of this speed"),
    ],
)
def test_the_calibration_tape_to_fetch(
    ask: Callable[..., Any], bench: Any, tape: tuple[str, ...], told: str
) -> None:
    shelf = bench.studio / "calibration_tapes"
    shelf.mkdir()
    (shelf / "ct.toml").write_text(TAPE.format(*tape))
    assert said(ask(captures=False)[0], "  fetch") == [told]


def test_hours_since_care_are_those_as_of_now_where_no_pass_is_dated(
    ask: Callable[..., Any], bench: Any
) -> None:
    machine = bench.studio / "machines" / "left.toml"
    machine.write_text(
        f"{machine.read_text()}[[care]]\nkind = 'cleaned'\non = 2026-03-01\n"
        "[[care]]\nkind = 'demagnetised'\non = 2026-03-01\n"
    )
    (bench.studio / "logbook").mkdir()
    line = LogLine(
        key="X",
        job_id="11111111-1111-4111-8111-111111111111",
        machine="left",
        on="2026-03-10",
        programme_minutes=Decimal(300),
    )
    (bench.studio / "logbook" / "left.jsonl").write_bytes(logbook.write(line))
    (gate,) = ask(REEL.replace("on = 2026-03-14\n", ""), captures=False)
    assert str(said(gate, "cleaned")[0]).startswith("DUE: at least 5 h since 2026-03-01")
    assert str(said(gate, "demagnetised")[0]).startswith("at least 5 h since 2026-03-01")
    assert said(gate, "calibrated") == [None]
    assert said(gate, "full check") == [None]


def test_a_session_of_the_studio_is_a_calibration_and_need_not_be_entered_twice(
    ask: Callable[..., Any], bench: Any
) -> None:
    shelf = bench.studio / "sessions"
    shelf.mkdir(exist_ok=True)
    setting = "[[settings]]\nid = 's'\n"
    for name, text in {
        "other-machine": f"machine = 'right'\non = 2026-03-13\n{setting}",
        "nothing-checked": "machine = 'left'\non = 2026-03-12\n",
        "no-day": f"machine = 'left'\non = 'soon'\n{setting}",
        "evening": f"machine = 'left'\non = 2026-03-11\n{setting}",
    }.items():
        (shelf / f"{name}.toml").write_text(f"id = '{name}'\n{text}")
    (gate,) = ask(REEL, captures=False)
    assert str(said(gate, "calibrated")[0]).startswith("2026-03-11, hours not examined")
    assert str(said(gate, "full check")[0]).startswith("calibrated 2026-03-11; due after 6 months")


def test_the_machines_own_intervals_go_before_custom_and_behind_the_recipients(
    ask: Callable[..., Any], bench: Any
) -> None:
    machine = bench.studio / "machines" / "left.toml"
    machine.write_text(
        f"{machine.read_text()}[care_intervals]\nclean_hours = 10\ndemagnetise_hours = 25\n"
    )
    (bench.studio / "recipients" / "archive.toml").write_text(
        'id = "archive"\n[care_intervals]\nclean_hours = 2\n'
    )
    (gate,) = ask(captures=False, top='recipient = "archive"')
    due = [
        one.says
        for part in gate.sheet.parts
        for one in part.entries
        if "due after" in str(one.says)
    ]
    assert due[:3] == [
        "due after 2 h (the recipient)",
        "due after 25 h (the machine's form)",
        "due after 30 h (IASA-TC 04, 5.4.7)",
    ]


@pytest.mark.parametrize(
    ("on", "due"), [("2026-03-01", ""), ("2025-09-16", ""), ("2025-09-15", "DUE: ")]
)
def test_a_full_check_is_due_by_the_calendar(
    ask: Callable[..., Any], bench: Any, on: str, due: str
) -> None:
    machine = bench.studio / "machines" / "left.toml"
    machine.write_text(f"{machine.read_text()}[[care]]\nkind = 'calibrated'\non = {on}\n")
    (gate,) = ask(captures=False)
    told = f"{due}calibrated {on}; due after 6 months (IASA-TC 04, 5.4.7)"
    assert said(gate, "full check") == [told]
    assert ("months ago" in str(said(gate, "calibrated")[0])) == (on < "2026")


def test_a_recipients_own_intervals_and_wishes_stand_on_the_sheet(
    ask: Callable[..., Any], bench: Any
) -> None:
    (bench.studio / "recipients" / "archive.toml").write_text(
        'id = "archive"\nname = "Harbour Archive"\nstop_at_speed_change = true\n'
        'house_rule_end_out = "tails"\nimages = ["box"]\n'
        '[overlap]\nseconds = 5\nat = ["speed change"]\n'
        '[[asked]]\nkey = "reel.hub"\nlevel = "required"\n'
    )
    (gate,) = ask(captures=False, top='recipient = "archive"')
    assert said(gate, "stop there") == ["wanted: two files"]
    assert said(gate, "overlap") == ["5 s at: speed change"]
    assert said(gate, "END OUT after") == ["TAILS"]
    assert said(gate, "reel.hub") == [None]


def test_forms_with_faults_make_no_sheet(ask: Callable[..., Any]) -> None:
    (gate,) = ask("nonsense = 1", captures=False)
    assert (gate.word, gate.sheet, codes(gate)) == ("WAIT", None, ["form-value"])
    assert verdict(gate) is Verdict.FAIL


# Before unloading


def test_a_capture_that_is_not_there_keeps_the_reel_on(ask: Callable[..., Any], bench: Any) -> None:
    bench.put("captures/b.wav", bench.wave())
    last = ask(at="unloading", captures=False)[-1]
    assert (last.word, codes(last)[0]) == ("KEEP", "capture-awaited")
    # A name spelled otherwise in the form sends nobody back to the machine.
    assert last.needs_reel[0].text == (
        "capture 'a': captures/a.wav is not there; did you mean captures/b.wav?"
    )


def test_a_growing_capture_is_not_opened(
    ask: Callable[..., Any], bench: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[Path] = []
    real = Path.open

    def see(path: Path, *arguments: Any, **more: Any) -> Any:
        opened.append(path)
        return real(path, *arguments, **more)

    path = bench.put("captures/a.wav", bench.wave())
    monkeypatch.setattr(Path, "open", see)
    moment = path.stat().st_mtime
    last = ask(captures=False, seconds_now=lambda: moment + 4.9)[-1]
    assert (last.word, codes(last)[0]) == ("KEEP", "capture-growing")
    assert verdict(last) is Verdict.NOT_EXAMINED
    assert path.resolve() not in opened
    last = ask(captures=False, seconds_now=lambda: moment + 5.1)[-1]
    assert last.word == "OFF"
    assert path.resolve() in opened


@pytest.mark.parametrize("hours", [-1, 1])
def test_a_clock_an_hour_off_is_no_growth(ask: Callable[..., Any], bench: Any, hours: int) -> None:
    path = bench.put("captures/a.wav", bench.wave())
    moment = path.stat().st_mtime
    last = ask(captures=False, seconds_now=lambda: moment + hours * 3600)[-1]
    assert last.word == "OFF"


def test_a_capture_that_vanishes_while_it_is_read_is_told(
    ask: Callable[..., Any], bench: Any, acting: Callable[..., Any]
) -> None:
    path = bench.job / "captures/a.wav"
    progress = acting("Measuring", lambda: os.utime(path, (1_700_000_001, 1_700_000_001)))
    last = ask(progress=progress)[-1]
    assert progress.acted
    assert (last.word, codes(last)[0]) == ("KEEP", "capture-out-of-reach")
    assert verdict(last) is Verdict.NOT_EXAMINED
    assert not last.is_whole


def test_a_capture_that_is_cut_off_keeps_the_reel_on(ask: Callable[..., Any], bench: Any) -> None:
    bench.put("captures/a.wav", bench.wave()[:-900])
    last = ask(captures=False)[-1]
    assert last.word == "KEEP"
    assert verdict(last) is Verdict.FAIL


def test_a_side_that_no_capture_holds_keeps_the_reel_on(ask: Callable[..., Any]) -> None:
    last = ask(f"{REEL}\n[[reel.sides]]\nid = 'B'\n")[-1]
    assert (last.word, [one.code for one in last.needs_reel]) == ("KEEP", ["side-without-capture"])
    last = ask(f"{REEL}\n[[reel.sides]]\nid = 'B'\nregions = 'none found'\n")[-1]
    assert last.word == "OFF"


def test_a_side_that_outlasts_a_full_reel_keeps_the_reel_on(
    ask: Callable[..., Any], bench: Any
) -> None:
    # 600 ft of the thickest, 1,730 ft of the thinnest tape on 5 inches: 46 minutes at 7½ ips.
    more = REEL.replace("[[reel.sides]]", "diameter_in = 5\n[[reel.sides]]", 1)
    pcm = bench.pcm.__class__(
        is_float=False, sample_rate_hz=8, channels=1, container_bits=8, valid_bits=8
    )
    for minutes, word in ((45, "OFF"), (60, "KEEP")):
        bench.put("captures/a.wav", bench.wave(pcm, minutes * 60 * 8))
        first = ask(more, captures=False)[0]
        found = [one.code for one in first.needs_reel]
        assert found == (["side-longer-than-reel"] if word == "KEEP" else [])


def test_the_lists_come_in_order_and_hold_all_that_asks(ask: Callable[..., Any]) -> None:
    last = ask(f"end_out_on_leaving = 'heads'\nlast_motion = 'head to tail'\n{REEL}")[-1]
    assert last.word == "OFF"
    assert [one.code for one in last.before_boxing] == [
        "end-out-contradicts",
        "free-end-unsaid",
        "remarking-unsaid",
        "photographs-unsaid",
        "reel-pair-unsaid",
        "return-unsaid",
    ]


def test_a_name_that_two_masters_would_have_needs_no_reel(
    ask: Callable[..., Any], bench: Any
) -> None:
    (bench.studio / "recipients" / "archive.toml").write_text(
        'id = "archive"\nnames = { template = "{package}" }\n'
    )
    bench.put("captures/b.wav", bench.wave())
    more = '[[captures]]\nid = "b"\nfile = "captures/b.wav"\n'
    last = ask(more, top='recipient = "archive"')[-1]
    assert "names-clash" in {one.code for one in last.at_desk}
    assert last.word == "OFF"


def test_what_the_recipient_asks_of_the_reel_is_told_before_boxing_and_once(
    ask: Callable[..., Any], bench: Any
) -> None:
    (bench.studio / "recipients" / "archive.toml").write_text(
        'id = "archive"\nimages = ["box"]\n'
        '[[asked]]\nkey = "reel.hub"\nlevel = "required"\n'
        '[[asked]]\nkey = "recording.what"\nlevel = "required"\n'
    )
    last = ask(top='recipient = "archive"')[-1]
    assert (last.word, last.because[-1]) == ("OFF", "archive: 3 to decide before it goes out")
    assert [one.code for one in last.at_desk] == ["asked-not-told"]
    assert [one.code for one in last.before_boxing][:3] == [
        "asked-of-reel-not-told",
        "photograph-asked",
        "free-end-unsaid",
    ]
    assert "photographs-unsaid" not in codes(last)


def test_three_hundred_findings_are_all_held(ask: Callable[..., Any]) -> None:
    region = "[[reel.sides.regions]]\nid = 'r{0}'\nkind = 'programme'\ncapture = 'a'\n"
    many = "".join(f"{region.format(n)}start = '1:{n % 60:02d}'\n" for n in range(300))
    last = ask(REEL.replace('id = "A"', f'id = "A"\n{many}', 1))[-1]
    assert len(last.findings) >= 300
    assert last.needs_reel == tuple(one for one in last.findings if one in last.needs_reel)


def test_a_form_without_captures_keeps_the_reel_on(bench: Any, around: Callable[..., Any]) -> None:
    bench.form({}, more=REEL)
    last = list(gates(bench.job, "unloading", around()))[-1]
    assert (last.word, codes(last)[0]) == ("KEEP", "capture-awaited")
    assert last.needs_reel[0].text == "the form names no capture."


def test_what_would_stop_close_is_told_at_the_gate(ask: Callable[..., Any], bench: Any) -> None:
    """Windows knows no file called `con`, so that no package may hold one."""
    bench.put("documents/con.txt", b"x")
    last = ask()[-1]
    assert (last.word, [one.code for one in last.at_desk]) == ("OFF", ["name-unfit-for-packing"])
    assert str(last.at_desk[0].place) == "documents/con.txt"
    assert verdict(last) is Verdict.FAIL


def test_a_calibration_capture_that_would_stop_close_is_told_at_the_gate(
    ask: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(*_: object) -> None:
        raise MaterialError("The capture tones.wav holds no audio.", "Record it anew.")

    monkeypatch.setattr(calibration, "find", stop)
    last = ask()[-1]
    assert [one.code for one in last.at_desk] == ["close-would-stop"]
    assert last.at_desk[0].text == "The capture tones.wav holds no audio. Record it anew."


def test_a_capture_that_nobody_names_is_asked_about(ask: Callable[..., Any], bench: Any) -> None:
    bench.put("captures/b.wav", bench.wave())
    bench.put("captures/.b.wav", b"x")
    bench.put("captures/notes.txt", b"x")
    last = ask()[-1]
    assert [(one.code, one.text) for one in last.at_desk] == [
        ("capture-unnamed", "captures/b.wav is named in no form.")
    ]


def test_what_was_expected_stands_beside_what_was_captured(ask: Callable[..., Any]) -> None:
    more = "[[reel.expectations]]\nabout = 'duration'\nexpected = 'both full'\n"
    last = ask(REEL + more + "said_by = 'owner'\n")[-1]
    assert said(last, "duration") == ["both full (owner)"]
    assert said(ask(REEL + more + "found = 'so it was'\n")[-1], "duration") == []


# Facts kept


@pytest.fixture
def reads(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """The captures that are measured, and where echoes are looked for too."""
    seen: list[str] = []
    real = first_pass.measure

    def see(taken: Any, *arguments: Any, echoes: bool = True) -> Any:
        seen.extend(f"{one.name}{', echoes' * echoes}" for one in taken)
        return real(taken, *arguments, echoes=echoes)

    monkeypatch.setattr(first_pass, "measure", see)
    return iter((seen,))


def test_a_capture_that_has_not_changed_is_measured_once(
    ask: Callable[..., Any], reads: Iterator[list[str]]
) -> None:
    seen = next(reads)
    first = ask()[-1]
    again = ask(captures=False)
    assert seen == ["captures/a.wav"]
    assert again == [first]


def test_what_settles_the_facts_has_them_measured_anew(
    ask: Callable[..., Any], bench: Any, reads: Iterator[list[str]]
) -> None:
    seen = next(reads)
    ask()
    region = "[[reel.sides.regions]]\nid = 'r'\nkind = 'programme'\ncapture = 'a'\nstart = '0:00'\n"
    with_region = REEL.replace('id = "A"', f'id = "A"\n{region}', 1)
    ask(with_region, captures=False)
    ask(with_region, captures=False, software="tailsout next")
    path = bench.job / "captures/a.wav"
    os.utime(path, (1_700_000_009, 1_700_000_009))
    ask(with_region, captures=False, software="tailsout next")
    path.chmod(0o600)
    ask(with_region, captures=False, software="tailsout next")
    assert len(seen) == 5


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b'{"schema": 1}', b"\xff" * 40])
def test_facts_that_are_broken_are_made_again(
    ask: Callable[..., Any], bench: Any, content: bytes
) -> None:
    first = ask()[-1]
    kept = bench.job / ".gate-facts.json"
    whole = kept.read_bytes()
    kept.write_bytes(content)
    assert ask(captures=False)[-1] == first
    assert kept.read_bytes() == whole


def test_a_disk_that_takes_nothing_stops_no_gate(
    ask: Callable[..., Any], bench: Any, full_disk: Callable[[int], Disk]
) -> None:
    assert ask(disk=full_disk(10))[-1].word == "OFF"
    assert not (bench.job / ".gate-facts.json").exists()


# Before boxing


def test_all_said_it_may_go_into_its_box(ask: Callable[..., Any]) -> None:
    top = "original_reel = 'the one it came on'\nend_out_on_leaving = 'tails'\n"
    (gate,) = ask(f"{top}images = 'none found'\n{REEL}{AWAY}")
    assert (gate.word, codes(gate)) == ("BOX", [])
    assert said(gate, "goes to") == ["lamp store"]


def test_what_holds_the_free_end_must_open(ask: Callable[..., Any]) -> None:
    (gate,) = ask(REEL + AWAY.replace('opens_how = "by hand"\n', ""))
    assert "opening-unsaid" in codes(gate)


def test_nothing_said_everything_is_asked_once(ask: Callable[..., Any]) -> None:
    (gate,) = ask(at="boxing")
    assert gate.word == "OPEN"
    assert codes(gate) == [
        "free-end-unsaid",
        "remarking-unsaid",
        "end-out-unsaid",
        "photographs-unsaid",
        "reel-pair-unsaid",
        "return-unsaid",
    ]


def test_a_reel_that_is_wanted_again_stays_out_of_its_box(ask: Callable[..., Any]) -> None:
    (gate,) = ask(REEL + AWAY, at="boxing", captures=False)
    assert (gate.word, codes(gate)[0]) == ("KEEP", "capture-awaited")


def test_close_neither_reads_nor_packs_what_a_gate_keeps(
    ask: Callable[..., Any],
    bench: Any,
    around: Callable[..., Any],
    reads: Iterator[list[str]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ask()
    seen = next(reads)
    monkeypatch.delattr(kept_facts, "read")
    outcome = close(bench.job, bench.out, around(instant=NOW))
    assert outcome.built is not None
    assert seen == ["captures/a.wav", "captures/a.wav, echoes"]
    assert not [one for one in bench.left() if "gate-facts" in one]
