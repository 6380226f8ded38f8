"""Whether all that is stated to be there was captured, or is in the package."""

import re
from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import printable
from tailsout.mapping.names import tree
from tailsout.records.dossier import Dossier
from tailsout.records.reel import Reel
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import Tracks
from tailsout.rules.placed import placed
from tailsout.rules.rule import Rule, package_of, transfer_of

SIDE_UNCAPTURED = Kind(
    code="side-without-capture",
    severity=Severity.QUERY,
    title="A side is stated of which nothing was captured",
    basis="own rule: a side is captured, or a word says why not",
    remedy="The engineer says what is on it, and whether it is to be captured.",
    needs_reel=True,
)
OTHER_SIDE_UNSAID = Kind(
    code="other-side-unsaid",
    severity=Severity.QUERY,
    title="A tape that is recorded in two directions has one side captured, and nothing says why",
    basis="own rule: half-track mono and quarter-track leave room for another side",
    remedy="Somebody who has the reel at hand says in its note whether the other side is blank.",
    needs_reel=True,
)
IMAGE_MISSING = Kind(
    code="image-missing",
    severity=Severity.MEND,
    title="A photograph that the side-car names is not in the package",
    basis="own rule: what a side-car names lies in its package",
    remedy="Ask the sender for the package again, with the photograph in it.",
)

_ALL = ""
"""In place of a side's id."""
_TWO_WAYS = frozenset[Tracks]({"half-track mono", "quarter-track mono", "quarter-track stereo"})
_TWO_SIDES = re.compile(
    r"\bboth (sides|faces)\b|\b(two|2) (sides|faces)\b|\b(side|face) (b|2|two|ii)\b", re.IGNORECASE
)
_A_WORD = re.compile(r"\b(sides?|faces?|blank|empty|unrecorded|one direction)\b", re.IGNORECASE)


def _sides(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    # Of a reel that is still to be played, or was played before this record, nothing is asked.
    if not transfer.captures or transfer.kind in {"retrospective", "record only"}:
        return
    captured, told = _captured(transfer), _told_of(transfer)
    for s, side in enumerate(transfer.reel.sides):
        is_told = "regions" in side.absent or not told.isdisjoint({side.id, _ALL})
        if side.id not in captured and not is_told:
            text = f"side {printable(side.id)!r} has no region and no pass with a capture."
            yield SIDE_UNCAPTURED.at(dossier.place(f"/reel/sides/{s}"), text)
    if len(transfer.reel.sides) == 1 and not told and not _runs_both_ways(transfer):
        why = _why_two(transfer)
        if why:
            place = dossier.place("/reel/sides/0")
            yield OTHER_SIDE_UNSAID.at(place, f"{why}, and no word on the other side.")


def _captured(transfer: Transfer) -> frozenset[str]:
    """Return the sides of which something was captured, or may have been."""
    with_captures = {one.pass_id for one in transfer.captures}
    if None in with_captures:
        # A capture that names no pass may be of any side.
        return frozenset(side.id for side in transfer.reel.sides)
    played = {s for run in transfer.passes if run.id in with_captures for s in run.sides}
    return frozenset(played | {side.id for side in transfer.reel.sides if side.regions})


def _told_of(transfer: Transfer) -> frozenset[str]:
    """Return the sides of which somebody wrote why they were not captured; `_ALL` of the reel."""
    notes = [transfer.reel.note, transfer.note, *(run.note for run in transfer.passes)]
    sides = {
        side
        for run in transfer.passes
        if run.why_not_kept is not None and _A_WORD.search(run.why_not_kept)
        for side in run.sides
    }
    is_noted = any(_A_WORD.search(text) for text in notes if text is not None)
    return frozenset(sides | ({_ALL} if is_noted else set()))


def _runs_both_ways(transfer: Transfer) -> bool:
    """Tell whether one pass took both ways at once: a channel or a region is reversed."""
    mapped = [one.direction for run in transfer.passes for one in run.channels]
    regions = [one.region.direction for one in placed(transfer)]
    return "reversed" in mapped or "reversed" in regions


def _why_two(transfer: Transfer) -> str:
    inscribed = _inscribed(transfer.reel)
    if inscribed:
        return f"the {inscribed} names two sides"
    formats = sorted({t for one in placed(transfer) if (t := one.region.tracks) in _TWO_WAYS})
    return f"the tape is {formats[0]}" if formats else ""


def _inscribed(reel: Reel) -> str:
    return next((one.place for one in reel.inscriptions if _TWO_SIDES.search(one.text)), "")


def _images(dossier: Dossier) -> Iterator[Finding]:
    package = package_of(dossier)
    present = {one.path for one in package.files}
    unseen = tuple(package.unseen)
    transfer = transfer_of(dossier)
    for pointer, name in photographs(transfer.reel):
        path = tree.kept_path(transfer.recipient, name)
        hidden = any(not one or path.startswith(f"{one}/") for one in unseen)
        if path not in present and not hidden:
            yield IMAGE_MISSING.at(dossier.place(pointer), f"there is no {printable(path, 200)}.")


def photographs(reel: Reel) -> Iterator[tuple[str, str]]:
    """Yield every photograph that a reel states: JSON pointer, and its path in the job."""
    for i, image in enumerate(reel.images):
        yield f"/reel/images/{i}/file", image.file
    for e, event in enumerate(reel.events):
        for i, image in enumerate(event.images):
            yield f"/reel/events/{e}/images/{i}/file", image.file
    for i, words in enumerate(reel.inscriptions):
        if words.image is not None:
            yield f"/reel/inscriptions/{i}/image", words.image


RULES = (
    Rule(
        name="sides against captures",
        kinds=(SIDE_UNCAPTURED, OTHER_SIDE_UNSAID),
        needs=frozenset({"statements"}),
        run=_sides,
    ),
    Rule(
        name="photographs in the package",
        kinds=(IMAGE_MISSING,),
        needs=frozenset({"structure", "manifests", "statements"}),
        run=_images,
    ),
)
