"""The sheet: what the process keeps for every picture is kept for one at a time."""

import threading

from tailsout.views.plots.sheet import Head, Sheet, drawn

HEAD = Head(what="Waveform", title="Side A", told="A line.")


def draw(sheet: Sheet) -> None:
    sheet.panel(0.0, 20.0).plot([0, 1], [0, 1])


def test_two_at_once_are_drawn_one_after_the_other() -> None:
    """Two jobs closed at once drew with each other's settings, and came to other octets."""
    alone = drawn(HEAD, 24.0, draw, "svg")
    is_drawing, may_go_on = threading.Event(), threading.Event()
    made: list[bytes] = []

    def slowly(sheet: Sheet) -> None:
        is_drawing.set()
        may_go_on.wait(5)
        draw(sheet)

    first = threading.Thread(target=lambda: made.append(drawn(HEAD, 24.0, slowly, "svg")))
    second = threading.Thread(target=lambda: made.append(drawn(HEAD, 24.0, draw, "svg")))
    first.start()
    is_drawing.wait(5)
    second.start()
    second.join(0.05)
    assert second.is_alive()
    may_go_on.set()
    first.join()
    second.join()
    assert made == [alone, alone]
