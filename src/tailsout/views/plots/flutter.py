"""The course of the speed as a tone of a calibration tape shows it."""

from tailsout.records.tones import FlutterFacts, FlutterTrace
from tailsout.views.plots.scales import digits_of, round_step, rule_time, steps
from tailsout.views.plots.sheet import FAINT, HAIR, INK, Head, Kind, Sheet, blank, drawn
from tailsout.views.plots.words import clock, signed

_HEIGHT = 58.0
_COLUMNS = 1400
NO_TONE = "No steady tone was found that flutter can be read from."
_METHOD = (
    (
        "Deviation of the speed from its mean, per cent, unweighted, drift included: from the"
        " lowest to the highest of each point."
    ),
    (
        "From the frequency of the tone; up where the tape runs fast. Weighted figure: weighting of"
        " IEC 60386, 2-sigma style."
    ),
)


def draw(
    facts: FlutterFacts | None, trace: FlutterTrace | None, *, title: str, kind: Kind
) -> bytes:
    """Return the plot of one reading; `facts` and `trace` are None where no tone was steady."""
    if facts is None or trace is None or not trace.high:
        return blank(Head(what="Flutter", title=title, told=NO_TONE), NO_TONE, kind)
    seconds = len(trace.high) * float(trace.seconds_a_point)
    lowest, highest = min(trace.low), max(trace.high)
    head = Head(
        what="Flutter",
        title=title,
        cells=cells(facts),
        method=_METHOD,
        told=(
            f"{clock(seconds)} of a tone of {facts.frequency_hz:f} Hz on channel {facts.channel}."
            f" The speed lies between {signed(lowest, 3)} % and {signed(highest, 3)} % of its mean;"
            f" {_figures(facts)}"
        ),
    )

    def body(sheet: Sheet) -> None:
        axes = sheet.panel(4.0, _HEIGHT)
        every = -(-len(trace.high) // _COLUMNS)
        starts = range(0, len(trace.high), every)
        lows = [min(trace.low[at : at + every]) for at in starts]
        highs = [max(trace.high[at : at + every]) for at in starts]
        across = [at * seconds / len(trace.high) for at in starts]
        if len(across) == 1:
            across, lows, highs = [0.0, seconds], lows * 2, highs * 2
        top = max(-1.15 * lowest, 1.15 * highest, 0.02)
        ticks = steps(-top, top, 8)
        digits = digits_of(round_step(2 * top, 8))
        axes.fill_between(across, lows, highs, color=INK, linewidth=0.35)
        axes.set_yticks(ticks, [signed(one, digits) for one in ticks])
        axes.set_ylim(-top, top)
        axes.axhline(0.0, color="0.5", linewidth=HAIR)
        rule_time(axes, seconds)
        axes.grid(color=FAINT, linewidth=HAIR)
        sheet.side(sheet.top + 6.5, "%")

    return drawn(head, _HEIGHT + 11.0, body, kind)


def cells(facts: FlutterFacts) -> tuple[tuple[str, str], ...]:
    """Return the boxes that both plots of flutter carry."""
    return (
        ("tone", f"{facts.frequency_hz:f} Hz"),
        ("channel", str(facts.channel)),
        ("weighted, 2-sigma style", f"±{facts.weighted_percent:f} %"),
        ("unweighted, RMS", f"{facts.unweighted_rms_percent:f} %"),
        ("drift", f"{signed(float(facts.drift_percent), 4)} %"),
    )


def _figures(facts: FlutterFacts) -> str:
    return (
        f"weighted ±{facts.weighted_percent:f} %, unweighted {facts.unweighted_rms_percent:f} %"
        f" RMS, drift {signed(float(facts.drift_percent), 4)} %."
    )
