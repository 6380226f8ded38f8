"""The signal chain from head to file, as a diagram and in words."""

from collections.abc import Iterator, Mapping
from textwrap import wrap

from markupsafe import Markup

from tailsout.ground.findings import Finding
from tailsout.records.chain import ChainStep
from tailsout.records.dossier import Dossier
from tailsout.records.transfer import Transfer
from tailsout.views.report import svg
from tailsout.views.report.blocks import Block, Drawing, Heading, Paragraph, Rows, rows
from tailsout.views.report.paper import shown
from tailsout.views.rows import absent, inline

_MOST = 16
"""Steps that are drawn."""
_LETTERS = 44
_BOX, _GAP, _LEFT = 34.0, 20.0, 52.0


def blocks(
    dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]
) -> Iterator[Block]:
    """Yield the section; nothing where no way is stated."""
    del findings, assets
    transfer = dossier.transfer
    if transfer is None:
        return
    chain = transfer.chain
    if chain is not None:
        if chain.reason:
            yield Paragraph(text=f"Why this way: {chain.reason}")
        if chain.steps:
            yield Drawing(svg=_drawn(chain.steps), caption=_caption(chain.steps))
        yield from rows(
            (f"{number}. {step.kind}", inline(step, but=("kind",)) or "nothing more is stated")
            for number, step in enumerate(chain.steps, start=1)
        )
        yield from rows([("not stated", "; ".join(absent(chain)))])
    yield from _channels(transfer)


def _caption(steps: tuple[ChainStep, ...]) -> str:
    left_out = f" The first {_MOST} of {len(steps)} steps." if len(steps) > _MOST else ""
    return f"A single line is an analogue signal, a double line a digital one.{left_out}"


def _channels(transfer: Transfer) -> Iterator[Block]:
    told = [
        (f"pass {one.id}, channel {channel.channel}", inline(channel, but=("channel",)))
        for one in transfer.passes
        for channel in one.channels
    ]
    if told:
        yield Heading(text="Which channel is which track")
        yield Rows(rows=tuple(told))


def _drawn(steps: tuple[ChainStep, ...]) -> Markup:
    parts: list[Markup] = []
    drawn = steps[:_MOST]
    for number, step in enumerate(drawn, start=1):
        top = 4 + (number - 1) * (_BOX + _GAP)
        parts += _step(number, step, top)
        if number < len(drawn):
            parts += _arrow(step, top + _BOX)
    height = 8 + len(drawn) * (_BOX + _GAP) - _GAP
    told = " ".join(
        f"{number}: {step.kind}{f', {step.device}' if step.device else ''}"
        f"{f', then {step.signal}' if step.signal else ''}."
        for number, step in enumerate(drawn, start=1)
    )
    return svg.drawing("chain", height, parts, title="The signal chain", told=told)


def _step(number: int, step: ChainStep, top: float) -> Iterator[Markup]:
    yield svg.text(_LEFT - 12, top + _BOX / 2 + 4, f"{number}", text_anchor="end", class_="side")
    yield svg.box(_LEFT, top, svg.WIDTH - _LEFT - 4, _BOX, class_="step")
    device = wrap(shown(step.device or ""), _LETTERS, max_lines=1, placeholder=" …")
    lines = [step.kind, *device]
    for row, words in enumerate(lines):
        y = top + (14 if len(lines) == 2 else 21) + 12 * row
        yield svg.text(_LEFT + 8, y, words, class_="kind" if row == 0 else "small")


def _arrow(step: ChainStep, top: float) -> Iterator[Markup]:
    x, end = _LEFT + 30, top + _GAP
    if step.signal == "digital":
        yield svg.line(x, top, x, end - 5, class_="double")
        yield svg.line(x, top, x, end - 5, class_="inner")
    else:
        yield svg.line(x, top, x, end - 5, class_="thin")
    yield svg.element(
        "path", d=f"M{svg.number(x - 4)} {svg.number(end - 6)}h8l-4 6z", class_="head"
    )
    if step.signal:
        yield svg.text(x + 10, top + 13, step.signal, class_="small")
