"""The set-up sheet and the page of a gate: ruled, short lines, readable by printer and screen."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.findings import Place
from tailsout.records.gate import Entry, Gate, Part, Sheet
from tailsout.views import gate_page, large, set_up_sheet
from tailsout.work.gating.kinds import BASE_UNSETTLED, FREE_END

STOP = BASE_UNSETTLED.at(Place(file="job.toml", line=7, part="reel.stock"), "nobody knows.")


def sheet(*entries: Entry, stops: bool = True, title: str = "SKL-0007") -> Sheet:
    return Sheet(
        title=title,
        subtitle="Skerrow Light",
        on="2026-03-14T09:00:00Z",
        stops=(STOP,) if stops else (),
        cautions=("Monitors down.",),
        parts=(Part(title="THE TAPE", entries=entries),),
    )


def lines(page: bytes) -> list[str]:
    return page.decode("utf-8").splitlines()


def test_stop_signs_come_before_everything_else() -> None:
    page = lines(set_up_sheet.render(sheet(Entry(label="reel", says="7 inches"))))
    stop = next(n for n, one in enumerate(page) if "STOP" in one)
    assert stop < next(n for n, one in enumerate(page) if "THE TAPE" in one)
    assert any("Ask a conservator" in one for one in page)
    without = set_up_sheet.render(sheet(stops=False))
    assert b"STOP" not in without


def test_what_is_not_known_is_a_line_to_write_on() -> None:
    page = lines(set_up_sheet.render(sheet(Entry(label="machine"), Entry(label="at", says="9"))))
    assert f"  {'machine':<18}{'_' * 30}" in page
    assert f"  {'at':<18}9" in page


def test_headings_are_ruled_across_the_page() -> None:
    page = lines(set_up_sheet.render(sheet()))
    assert "== THE TAPE ".ljust(80, "=") in page


@given(st.text(max_size=300), st.text(max_size=300), st.text(max_size=120))
def test_no_line_is_longer_than_the_paper_and_none_carries_a_command(
    label: str, says: str, title: str
) -> None:
    page = set_up_sheet.render(sheet(Entry(label=label, says=says), title=title))
    for one in lines(page):
        assert len(one) <= 80
        assert one.isprintable()


@pytest.mark.parametrize("word", ["GO", "STOP", "OFF", "KEEP", "WAIT", "BOX", "OPEN"])
def test_every_answer_has_its_letters(word: str) -> None:
    rows = list(large.large(word))
    assert len(rows) == 5
    assert all(0 < len(row) <= 80 for row in rows)
    assert set("".join(rows)) == {" ", "█"}


def gate(count: int, *, is_whole: bool = True) -> Gate:
    found = tuple(
        FREE_END.at(Place(file="job.toml", line=n + 1), f"question {n}") for n in range(count)
    )
    return Gate(
        stage="unloading",
        why="as asked",
        word="OFF",
        answer="THE REEL MAY COME OFF",
        because=("nothing found",),
        before_boxing=found,
        at_desk=found[:1],
        parts=(Part(title="SIDE A", entries=(Entry(label="a", says="0:34"),)),),
        notes=2,
        is_whole=is_whole,
    )


def test_the_answer_comes_first_and_large() -> None:
    page = lines(gate_page.render(gate(0)))
    assert page[1:6] == list(large.large("OFF"))
    assert page[7] == "  THE REEL MAY COME OFF"


def test_a_long_list_is_cut_and_what_is_left_is_counted_by_code() -> None:
    page = gate_page.render(gate(300)).decode()
    assert "STILL TO DO BEFORE BOXING: 300" in page
    assert "question 7 " in page
    assert "question 8 " not in page
    assert "… and 292 more (--all): 292 free-end-unsaid" in page
    assert "question 299 " in gate_page.render(gate(300), None).decode()


def test_the_first_answer_is_short() -> None:
    page = gate_page.render(gate(3, is_whole=False)).decode()
    assert "CAN BE DONE AT THE DESK: 1" in page
    assert "BEFORE BOXING" not in page
    assert "SIDE A" not in page


def test_lists_that_are_empty_are_said_to_be() -> None:
    page = " ".join(gate_page.render(gate(0)).decode().split())
    assert (
        "(nothing needs the reel; nothing is left for the desk; nothing is to do before boxing)"
        in page
    )
