"""What a job takes over from its session and studio, and what it never takes over."""

from decimal import Decimal
from typing import Any

import pytest

SESSION = """\
id = "s1"
on = 2026-03-14
by = "isolde"
machine = "mk3"
converter = "c2"

[set_up]
speed_ips = 7.5
output_select = "repro"
lifters = "unknown"
equalisation = { standard = "NAB", t1_us = 3180, t2_us = 50 }

[[settings]]
id = "7-nab"
tape = "ct7"

[chain]
reason = "shortest path"
[[chain.steps]]
kind = "converter"
"""
RUN = '[[passes]]\nid = "p1"\nsession = "s1"\n'


@pytest.fixture
def bench(desk: Any) -> Any:
    desk.write("sessions/s1.toml", SESSION)
    desk.write("machines/mk4.toml", 'id = "mk4"\n')
    desk.write("converters/c2.toml", 'id = "c2"\nmodel = "C2"\n')
    desk.write("converters/c3.toml", 'id = "c3"\n')
    desk.write("calibration_tapes/ct7.toml", 'id = "ct7"\nnumber = "7-1"\n')
    desk.write("calibration_tapes/ct15.toml", 'id = "ct15"\n')
    desk.write("people.toml", '[[people]]\nid = "isolde"\nname = "Isolde Varga-Finch"\n')
    return desk


def transfer(bench: Any, job: str) -> Any:
    stated = bench.state(job)
    assert stated.findings == ()
    return stated.transfer


def test_a_pass_takes_over_what_it_does_not_say(bench: Any) -> None:
    (one,) = transfer(bench, RUN).passes
    assert (one.machine, one.on, one.by) == ("mk3", "2026-03-14", "isolde")
    assert one.set_up.speed_ips == Decimal("7.5")
    assert one.set_up.output_select == "repro"
    assert one.set_up.equalisation.standard == "NAB"
    assert one.set_up.absent == {"lifters": "unknown"}
    assert one.absent == {}


def test_what_a_pass_says_goes_before(bench: Any) -> None:
    said = 'machine = "mk4"\non = 2026-03-15T09:00:00Z\nby = "tam"\n'
    (one,) = transfer(bench, RUN + said).passes
    assert (one.machine, one.on, one.by) == ("mk4", "2026-03-15T09:00:00Z", "tam")


def test_a_set_up_is_joined_key_by_key(bench: Any) -> None:
    said = '[passes.set_up]\nspeed_ips = 15\nlifters = "in"\nequalisation = { t2_us = 35 }\n'
    (one,) = transfer(bench, RUN + said).passes
    assert one.set_up.speed_ips == Decimal(15)
    assert one.set_up.output_select == "repro"
    assert one.set_up.lifters == "in"
    assert one.set_up.absent == {}
    # A curve is one thing: half of one and half of another would be none that was ever set.
    assert one.set_up.equalisation.standard is None
    assert one.set_up.equalisation.t2_us == Decimal(35)


def test_a_set_up_takes_over_why_a_value_is_not_there(bench: Any) -> None:
    said = '[passes.set_up]\nmeter_switch = "not recorded"\n'
    (one,) = transfer(bench, RUN + said).passes
    assert one.set_up.absent == {"meter_switch": "not recorded", "lifters": "unknown"}
    assert one.set_up.output_select == "repro"


@pytest.mark.parametrize("key", ["machine", "on", "by", "set_up"])
def test_an_absence_word_in_the_pass_keeps_the_value_out(bench: Any, key: str) -> None:
    (one,) = transfer(bench, f'{RUN}{key} = "not recorded"\n').passes
    assert getattr(one, key) is None
    assert one.absent == {key: "not recorded"}


def test_an_absence_word_in_the_set_up_keeps_the_value_out(bench: Any) -> None:
    said = '[passes.set_up]\nspeed_ips = "unknown"\n'
    (one,) = transfer(bench, RUN + said).passes
    assert one.set_up.speed_ips is None
    assert one.set_up.absent == {"speed_ips": "unknown", "lifters": "unknown"}


def test_why_the_session_says_nothing_is_taken_over_too(bench: Any) -> None:
    bench.write("sessions/s1.toml", 'id = "s1"\nby = "withheld"\n')
    (one,) = transfer(bench, RUN).passes
    assert one.absent == {"by": "withheld"}
    (one,) = transfer(bench, RUN + 'by = "tam"\n').passes
    assert (one.by, one.absent) == ("tam", {})


def test_nothing_else_of_a_session_goes_into_a_pass(bench: Any) -> None:
    bench.write("sessions/s1.toml", SESSION.replace("\n", '\nnote = "warm room"\n', 1))
    made = transfer(bench, RUN)
    assert made.sessions[0].note == "warm room"
    assert made.passes[0].note is None


def test_a_pass_without_a_session_takes_over_nothing(bench: Any) -> None:
    made = transfer(bench, '[[passes]]\nid = "p1"\n' + RUN.replace("p1", "p2"))
    one, two = made.passes
    assert (one.machine, one.set_up, one.absent) == (None, None, {})
    assert two.machine == "mk3"


def test_the_chain_comes_from_the_session(bench: Any) -> None:
    assert transfer(bench, RUN).chain.reason == "shortest path"
    own = transfer(bench, f'{RUN}[chain]\nreason = "the desk was in use"\n').chain
    assert (own.reason, own.steps) == ("the desk was in use", ())
    made = transfer(bench, f'chain = "not recorded"\n{RUN}')
    assert (made.chain, made.absent) == (None, {"chain": "not recorded"})
    assert transfer(bench, '[[passes]]\nid = "p1"\n').chain is None


def test_all_it_rests_on_is_taken_along_with_where_from(bench: Any) -> None:
    made = transfer(bench, RUN)
    assert {
        key: [(one.id, one.inherited_from) for one in getattr(made, key)]
        for key in ("sessions", "machines", "converters", "calibration_tapes")
    } == {
        "sessions": [("s1", "studio/sessions/s1.toml")],
        "machines": [("mk3", "studio/machines/mk3.toml")],
        "converters": [("c2", "studio/converters/c2.toml")],
        "calibration_tapes": [("ct7", "studio/calibration_tapes/ct7.toml")],
    }
    assert made.converters[0].model == "C2"
    assert [person.name for person in made.people] == ["Isolde Varga-Finch"]


def test_the_sessions_own_machine_is_taken_along_if_the_pass_ran_on_another(bench: Any) -> None:
    made = transfer(bench, f'{RUN}machine = "mk4"\n')
    assert [machine.id for machine in made.machines] == ["mk3", "mk4"]
    assert made.sessions[0].machine == "mk3"


def test_nothing_is_taken_along_that_it_does_not_rest_on(bench: Any) -> None:
    made = transfer(bench, "")
    assert made.sessions == made.machines == made.converters == made.calibration_tapes == ()


def test_what_was_taken_over_stays_as_it_stood_that_day(bench: Any) -> None:
    before = transfer(bench, RUN)
    bench.write("sessions/s1.toml", 'id = "s1"\nby = "tam"\n')
    assert before.passes[0].by == "isolde"
    assert before.sessions[0].by == "isolde"


def test_places_of_what_was_taken_along(bench: Any) -> None:
    places = bench.state(RUN).places
    assert {pointer: place.file for pointer, place in places.items()} == {
        "": "job.toml",
        "/sessions/0": "studio/sessions/s1.toml",
        "/machines/0": "studio/machines/mk3.toml",
        "/converters/0": "studio/converters/c2.toml",
        "/calibration_tapes/0": "studio/calibration_tapes/ct7.toml",
    }


@pytest.mark.parametrize(
    "broken",
    [
        "sessions/other.toml",
        "machines/other.toml",
        "converters/other.toml",
        "calibration_tapes/other.toml",
        "recipients/other.toml",
    ],
)
def test_a_fault_in_a_form_it_does_not_rest_on_stops_nothing(bench: Any, broken: str) -> None:
    bench.write(broken, 'id = "other"\nnonsense = 7\n')
    assert transfer(bench, RUN).passes[0].machine == "mk3"


@pytest.mark.parametrize(
    "broken",
    [
        "sessions/s1.toml",
        "machines/mk3.toml",
        "converters/c2.toml",
        "calibration_tapes/ct7.toml",
    ],
)
def test_a_fault_in_a_form_it_rests_on_stops_it(bench: Any, broken: str) -> None:
    text = (bench.studio / broken).read_text("utf-8")
    bench.write(broken, f"nonsense = 7\n{text}")
    stated = bench.state(RUN)
    assert stated.transfer is None
    assert [str(one.place) for one in stated.findings] == [f"studio/{broken}:1 nonsense"]


def test_faults_of_schemas_and_broken_references_are_told_together(bench: Any) -> None:
    bench.write("sessions/s1.toml", 'id = "s1"\nmachine = "mk9"\nroom_temperature_c = "warm"\n')
    bench.write("converters/c2.toml", 'id = "c2"\nmodel = 2\n')
    stated = bench.state(f'{RUN}kept = 1\nmachine = "mk8"\n')
    assert [(one.code, str(one.place)) for one in stated.findings] == [
        ("form-value", "job.toml:6 passes[1].kept"),
        ("form-value", "studio/sessions/s1.toml:3 room_temperature_c"),
        ("form-reference", "job.toml:7 passes[1].machine"),
        ("form-reference", "studio/sessions/s1.toml:2 machine"),
    ]
