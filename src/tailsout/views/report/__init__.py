"""`report.html`: the whole package on one sheet for people, as HTML that needs nothing beside it.

Written in HTML (WHATWG) without script, network or font of its own: for a browser, a telephone, and
A4 in black and white, by WCAG 2.2 level AA. Every text of a stranger is made printable and escaped,
and what it may take of the page is bounded.

`assets` may hold photographs made small (JPEG) by `identity.photograph_key`, and plots by their
path in the package.
"""

from collections.abc import Callable, Iterator, Mapping

from markupsafe import Markup

from tailsout.ground.findings import Finding
from tailsout.records.dossier import Dossier
from tailsout.views.report import (
    bench,
    cautions,
    chain,
    files,
    handling,
    hear,
    identity,
    judged,
    people,
    play,
    sound,
    strip,
)
from tailsout.views.report.blocks import Block, Paragraph, Photographs, Section, fewer
from tailsout.views.report.paper import drawn, sheet

MOST_OCTETS = 3_000_000
"""Of a page."""
_MOST_OF_A_SECTION = 200_000
"""Characters; photographs have a bound of their own."""
_MOST = ((500, 24), (500, 12), (500, 6), (500, 3), (100, 3), (20, 2))
"""Entries of a list and drawings, tried in turn until a section is short enough."""

_Part = Callable[[Dossier, tuple[Finding, ...], Mapping[str, bytes]], Iterator[Block]]

_SECTIONS: tuple[tuple[str, str, _Part], ...] = (
    ("cautions", "Cautions", cautions.blocks),
    ("identity", "The reel and what is on it", identity.blocks),
    ("strip", "The reel, drawn to scale", strip.blocks),
    ("chain", "The signal chain", chain.blocks),
    ("bench", "Machine, care and calibration", bench.blocks),
    ("sound", "What was captured", sound.blocks),
    ("handling", "What was done, in order", handling.blocks),
    ("people", "Who made it, and for whom", people.blocks),
    ("findings", "Findings, and what was answered", judged.blocks),
    ("files", "Files and their digests", files.blocks),
)


def render(dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]) -> bytes:
    """Return the page in UTF-8."""
    made = (
        Section(id=one_id, title=title, blocks=tuple(blocks(dossier, findings, assets)))
        for one_id, title, blocks in _SECTIONS
    )
    sections = [
        {"id": one.id, "title": one.title, "body": _body(one)} for one in made if one.blocks
    ]
    page = sheet(
        title=identity.title(dossier),
        top=tuple(identity.top(dossier)),
        hear=tuple(hear.lines(dossier, findings)),
        play=tuple(play.lines(dossier)),
        sections=sections,
        foot=tuple(_foot(dossier)),
    )
    return page.encode("utf-8", "backslashreplace")


def _body(section: Section) -> Markup:
    made: dict[Block, Markup] = {}
    for rows, drawings in _MOST:
        kept = tuple(fewer(section.blocks, rows, drawings))
        made |= {one: drawn(one) for one in kept if one not in made}
        body = Markup().join(made[one] for one in kept)
        if len(body) - _pictures(section) <= _MOST_OF_A_SECTION:
            return body
    return drawn(Paragraph(text="This is too long for a sheet; the package's own files hold it."))


def _pictures(section: Section) -> int:
    return sum(
        len(picture.data)
        for block in section.blocks
        if isinstance(block, Photographs)
        for picture in block.pictures
    )


def _foot(dossier: Dossier) -> Iterator[str]:
    if dossier.transfer is not None:
        yield (
            "This sheet repeats what the side-cars beside the audio files say; they hold more, and "
            "where both differ they count. Of what was corrected later, the newest version counts."
        )
    else:
        yield "This sheet repeats what the package and its files say of themselves, and no more."
    yield "It needs no network and no program but one that shows HTML, and runs none."
