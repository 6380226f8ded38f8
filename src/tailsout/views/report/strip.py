"""The reel drawn to scale: a strip of tape for each side, and a table of what lies on it."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from math import floor, log10

from markupsafe import Markup

from tailsout.ground.findings import Finding
from tailsout.ground.units import plain
from tailsout.records.carrier import Leader
from tailsout.records.dossier import Dossier
from tailsout.records.reel import Region
from tailsout.records.transfer import Transfer
from tailsout.tape.speed import tape_feet
from tailsout.views.report import svg
from tailsout.views.report.blocks import Block, Drawing, Heading, Paragraph, Table, rows
from tailsout.views.report.tape import Lying, Reel, Strip, laid_out
from tailsout.views.report.wording import curve, listed, regions, times
from tailsout.views.rows import absent, inline

_Place = Callable[[Decimal], float]

_LEFT, _RIGHT = 26.0, 352.0
_TAPE, _ROW = 26.0, 74.0
_STUB = 8.0
"""How long a leader is drawn: not to scale."""


def blocks(
    dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]
) -> Iterator[Block]:
    """Yield the section; nothing where nothing is stated of it."""
    del findings, assets
    transfer = dossier.transfer
    if transfer is None:
        return
    laid = laid_out(dossier, transfer)
    if laid is not None:
        yield Drawing(svg=_drawn(laid, transfer), caption=_caption(laid))
    yield from rows(
        (f"side {one.id}", "; ".join(part for part in (one.title or "", *absent(one)) if part))
        for one in transfer.reel.sides
    )
    table = tuple(_row(number, *one, dossier) for number, one in _numbered(transfer, laid))
    if table:
        yield Table(
            caption="Regions in playing order; the numbers are those of the drawing",
            titles=("No.", "Where", "What", "Played at", "More"),
            rows=table,
        )
    elif transfer.kind != "record only":
        yield Paragraph(text="No region of the tape is stated.")
    yield from _kept_apart(transfer)


def _caption(laid: Reel) -> str:
    scale = (
        "Drawn to the length of tape, in metres, reckoned from time and speed"
        if laid.unit == "m"
        else "Drawn by time, in seconds: the speed of some region is not known"
    )
    return (
        f"{scale}. Each side begins where its arrow begins; how the sides lie against each other "
        "is not measured, and leaders are not drawn to scale."
    )


def _numbered(transfer: Transfer, laid: Reel | None) -> Iterator[tuple[str, tuple[str, Region]]]:
    numbers = {
        (one.side, id(one.region)): str(one.number)
        for strip in (laid.strips if laid is not None else ())
        for one in strip.regions
    }
    for side, region in regions(transfer):
        yield numbers.get((side, id(region)), "–"), (side, region)


def _row(number: str, side: str, one: Region, dossier: Dossier) -> tuple[str, ...]:
    at = times(dossier)
    seconds = at.seconds(one)
    feet = tape_feet(seconds, one.speed_ips) if seconds and one.speed_ips else Decimal(0)
    more = [
        "played in reverse" if one.direction == "reversed" else "",
        f"noise reduction {one.noise_reduction}" if one.noise_reduction else "",
        f"tape section {one.stock}" if one.stock else "",
        f"told by {listed(one.basis)}" if one.basis else "",
        one.confidence or "",
        f"not ruled out: {listed(one.rivals)}" if one.rivals else "",
        *(f"tone {inline(tone)}" for tone in one.tones),
        f"{feet:.0f} ft of tape" if feet >= 1 else "",
        f"calibration setting {one.setting}" if one.setting else "",
        f"its first {plain(one.overlap_seconds)} s lie in the file before it too"
        if one.overlap_seconds is not None
        else "",
        one.note or "",
        *absent(one),
    ]
    return (
        number,
        f"side {side}\n{at.stretch(one)}",
        f"{one.kind}: {one.title}" if one.title else one.kind,
        "\n".join(part for part in (*_played(one), *_recorded(one)) if part),
        "; ".join(part for part in more if part),
    )


def _played(one: Region) -> Iterator[str]:
    yield from (_speed(one), curve(one.equalisation), one.tracks or "")


def _recorded(one: Region) -> Iterator[str]:
    told = [
        f"{plain(one.recorded_speed_ips)} ips" if one.recorded_speed_ips is not None else "",
        curve(one.recorded_equalisation),
    ]
    if any(told):
        yield f"recorded: {', '.join(part for part in told if part)}"


def _speed(one: Region) -> str:
    return f"{plain(one.speed_ips)} ips" if one.speed_ips is not None else ""


def _kept_apart(transfer: Transfer) -> Iterator[Block]:
    reel = transfer.reel
    if reel.leaders or reel.splices:
        yield Heading(text="Leaders and splices")
        yield from rows(
            [
                *((f"leader, {one.end}", inline(one, but=("end",))) for one in reel.leaders),
                *((f"splice {n}", inline(one)) for n, one in enumerate(reel.splices, start=1)),
            ]
        )


# The drawing


def _drawn(laid: Reel, transfer: Transfer) -> Markup:
    kinds = list(dict.fromkeys(one.region.kind for strip in laid.strips for one in strip.regions))
    legend_rows = (len(kinds) + 2) // 3
    height = _ROW * len(laid.strips) + 34 + 14 * legend_rows
    scale = (_RIGHT - _LEFT - 2 * _STUB) / float(laid.longest)
    parts = [svg.hatches(kinds, "reel")]
    for row, strip in enumerate(laid.strips):
        parts += _side(strip, transfer, row * _ROW + 16, scale, float(laid.longest))
    foot = _ROW * len(laid.strips) + 8
    parts += _ruler(laid, foot, scale)
    parts += _legend(kinds, foot + 24)
    return svg.drawing("reel", height, parts, title="The reel as a strip of tape", told=_told(laid))


def _told(laid: Reel) -> str:
    sides = []
    for strip in laid.strips:
        shown = [
            f"{one.number} {one.region.kind} from {one.start:.1f} to {one.end:.1f} {laid.unit}"
            for one in strip.regions
        ]
        splices = [f"{at:.1f} {laid.unit}" for at in strip.splices]
        cut = f"; splices at {listed(splices)}" if splices else ""
        sides.append(f"Side {strip.side}: {', '.join(shown)}{cut}.")
    return " ".join(sides)


def _side(
    strip: Strip, transfer: Transfer, top: float, scale: float, longest: float
) -> Iterator[Markup]:
    is_back = strip.runs == "tail to head"
    left = _LEFT + _STUB

    def place(at: Decimal) -> float:
        return left + (longest - float(at) if is_back else float(at)) * scale

    middle = top + _TAPE / 2
    yield svg.text(2, middle + 5, strip.side[:3], class_="side")
    end = place(Decimal(0))
    far = place(max((one.end for one in strip.regions), default=Decimal(0)))
    yield svg.box(min(end, far), top, abs(far - end), _TAPE, class_="tape")
    for one in strip.regions:
        yield from _region(one, sorted((place(one.start), place(one.end))), top)
    for at in strip.splices:
        x = place(at)
        yield svg.line(x - 4, top + _TAPE + 4, x + 4, top - 4, class_="splice")
    yield from _leaders(transfer.reel.leaders, top, left, longest * scale)
    yield from _speeds(strip, place, top + _TAPE + 10)
    yield from _stock(strip, place, top + _TAPE + 24)
    tip = end + (-12 if is_back else 12)
    yield svg.element(
        "path",
        d=f"M{svg.number(end)} {svg.number(top - 7)}H{svg.number(tip)}"
        f"m{'3 -3l-3 3 3 3' if is_back else '-3 -3l3 3 -3 3'}",
        class_="thin",
    )


def _region(one: Lying, across: list[float], top: float) -> Iterator[Markup]:
    start, end = across
    width = max(end - start, 0.6)
    kind = one.region.kind
    if kind in svg.HATCHES:
        fill = f"fill:url(#{svg.fill(kind, 'reel')})"
        yield svg.box(start, top, width, _TAPE, style=fill, class_="region")
    else:
        yield svg.box(start, top, width, _TAPE, class_="region programme")
    label = str(one.number)
    wide = 6.2 * len(label)
    if width >= wide + 2:
        middle = (start + end) / 2
        if kind in svg.HATCHES:
            yield svg.box(middle - wide / 2 - 1, top + 7, wide + 2, 12, class_="plate")
        yield svg.text(middle, top + 17, label, text_anchor="middle")


def _leaders(
    leaders: tuple[Leader, ...], top: float, left: float, width: float
) -> Iterator[Markup]:
    for one in leaders:
        if one.kind != "none":
            x = left - _STUB if one.end == "heads" else left + width
            yield svg.box(x, top + 4, _STUB, _TAPE - 8, class_="leader")


def _speeds(strip: Strip, place: _Place, y: float) -> Iterator[Markup]:
    yield from _runs(strip, [_speed(one.region) for one in strip.regions], place, y)


def _stock(strip: Strip, place: _Place, y: float) -> Iterator[Markup]:
    yield from _runs(strip, [one.region.stock or "" for one in strip.regions], place, y)


def _runs(strip: Strip, labels: list[str], place: _Place, y: float) -> Iterator[Markup]:
    """Draw brackets under what belongs together, each with its label where there is room."""
    runs: list[tuple[str, Decimal, Decimal]] = []
    for one, label in zip(strip.regions, labels, strict=True):
        if runs and runs[-1][0] == label:
            runs[-1] = (label, runs[-1][1], one.end)
        else:
            runs.append((label, one.start, one.end))
    for label, first, last in runs:
        if not label:
            continue
        start, end = sorted((place(first), place(last)))
        yield svg.element(
            "path",
            d=f"M{svg.number(start + 0.7)} {svg.number(y - 4)}V{svg.number(y - 1)}"
            f"H{svg.number(end - 0.7)}V{svg.number(y - 4)}",
            class_="thin",
        )
        if end - start >= 5 * len(label) + 2:
            yield svg.text((start + end) / 2, y + 7, label, text_anchor="middle", class_="small")


def _ruler(laid: Reel, y: float, scale: float) -> Iterator[Markup]:
    left, longest = _LEFT + _STUB, float(laid.longest)
    step = _step(longest)
    yield svg.line(left, y, left + longest * scale, y, class_="thin")
    marks = floor(longest / step + 1e-9)
    for n in range(marks + 1):
        x = left + n * step * scale
        yield svg.line(x, y, x, y + 4, class_="thin")
        unit = f" {laid.unit}" if n == marks else ""
        label = f"{n * step:g}{unit}"
        yield svg.text(x, y + 13, label, text_anchor="middle", class_="small")


def _step(longest: float) -> float:
    """Return a round distance of marks, so that five to ten of them stand on the ruler."""
    power: float = 10.0 ** floor(log10(longest))
    return next(float(power * n) for n in (0.1, 0.2, 0.5, 1, 2) if longest / (power * n) <= 8)


def _legend(kinds: Iterable[str], top: float) -> Iterator[Markup]:
    for n, kind in enumerate(kinds):
        x, y = _LEFT + 8 + 108 * (n % 3), top + 14 * (n // 3)
        style = {"style": f"fill:url(#{svg.fill(kind, 'reel')})"} if kind in svg.HATCHES else {}
        more = "region" if style else "region programme"
        yield svg.box(x, y, 16, 9, class_=more, **style)
        yield svg.text(x + 20, y + 8, kind, class_="small")
