"""What the package's recipient asks of the tape's transfer: joins, photographs, ears, which end.

An overlap is asked between files only: where the speed changes on the run, within one capture,
nothing is joined.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import plain, printable, speed
from tailsout.records.dossier import Dossier
from tailsout.records.recipient import OverlapAsked
from tailsout.records.reel import Region
from tailsout.records.transfer import Transfer
from tailsout.rules.placed import Placed, placed
from tailsout.rules.rule import Rule, transfer_of

OVERLAP_UNSAID = Kind(
    code="overlap-unsaid",
    severity=Severity.QUERY,
    title="The recipient wants two files to overlap, and nothing says by how much they do",
    basis="own rule: the recipient's form asks for it in overlap",
    remedy="Whoever made the transfer says in overlap_seconds how much the files have in common.",
)
OVERLAP_SHORT = Kind(
    code="overlap-short",
    severity=Severity.QUERY,
    title="Two files have less in common than the recipient wants",
    basis="own rule: the recipient's form asks for it in overlap",
    remedy="The recipient decides whether it is enough; whoever knows the reel says what it can "
    "bear.",
    needs_reel=True,
)
PARTS_WITHOUT_OVERLAP = Kind(
    code="parts-without-overlap",
    severity=Severity.QUERY,
    title="The parts of a capture have less in common than the recipient wants",
    basis="own rule: the recipient's form asks for it in overlap",
    remedy="The recipient says whether parts that follow each other sample by sample will do.",
)
SPEED_CHANGE_UNSTOPPED = Kind(
    code="speed-change-unstopped",
    severity=Severity.QUERY,
    title="The recipient wants a file for each speed, and one capture holds two",
    basis="own rule: the recipient's form asks for it in stop_at_speed_change",
    remedy="The recipient decides whether regions within one file will do.",
)
HOUSE_RULE_END_OUT = Kind(
    code="house-rule-end-out",
    severity=Severity.NOTE,
    title="A one-direction tape leaves with the wrong end out by its recipient's house rule",
    basis="own rule: the recipient's form has it in house_rule_end_out; house rules differ",
    remedy="Nothing to do if the box says which end is out; else whoever has the reel decides.",
)
PHOTOGRAPH_ASKED = Kind(
    code="photograph-asked",
    severity=Severity.QUERY,
    title="The recipient wants a photograph that is not there",
    basis="own rule: the recipient's form asks for it in images",
    remedy="Take it while the reel is there, or say what an earlier one shows; the recipient "
    "decides whether the package will do without.",
    needs_reel=True,
)
LISTENED_TOO_LITTLE = Kind(
    code="listened-too-little",
    severity=Severity.QUERY,
    title="Nobody is stated to have listened to as much of a capture as the recipient wants",
    basis="own rule: the recipient's form asks for it in listening_sample",
    remedy="Whoever listened says to how much; the recipient decides whether it is enough.",
)

_RECORDINGS = frozenset({"programme", "line-up tone", "slate"})


@dataclass(frozen=True, slots=True, kw_only=True)
class _Next:
    """Two recordings that follow each other on one side."""

    before: Region
    after: Region
    pointer: str
    """To the second of them."""

    @property
    def is_one_capture(self) -> bool:
        return self.before.capture == self.after.capture

    @property
    def changes(self) -> tuple[str, ...]:
        """What is known to change between them."""
        one, other = self.before, self.after
        speeds = (one.speed_ips, other.speed_ips)
        curves = (one.equalisation, other.equalisation)
        told = (("speed change", speeds), ("equalisation change", curves))
        return tuple(name for name, pair in told if None not in pair and pair[0] != pair[1])


def _following(transfer: Transfer) -> Iterator[_Next]:
    kept = [one for one in placed(transfer) if _counts(one)]
    for one, other in pairwise(kept):
        if one.side is other.side:
            yield _Next(before=one.region, after=other.region, pointer=other.pointer)


def _counts(one: Placed) -> bool:
    return one.region.kind in _RECORDINGS and (one.run is None or one.run.kept is not False)


def _overlaps(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    asked = transfer.recipient.overlap if transfer.recipient is not None else None
    if asked is None:
        return
    for one in _following(transfer):
        changes = [change for change in one.changes if change in asked.at]
        if one.is_one_capture or not changes:
            continue
        place = dossier.place(f"{one.pointer}/overlap_seconds")
        has, names = one.after.overlap_seconds, f"{one.before.id!r} and {one.after.id!r}"
        wanted = f"{plain(asked.seconds)} s are wanted at a {changes[0]}."
        if has is not None and has < asked.seconds:
            yield OVERLAP_SHORT.at(place, f"{names} have {plain(has)} s in common; {wanted}")
        elif has is None and one.after.absent.get("overlap_seconds") != "not applicable":
            yield OVERLAP_UNSAID.at(place, f"{names} lie in two files; {wanted}")
    if "parts" in asked.at:
        yield from _parts(dossier, asked)


def _parts(dossier: Dossier, asked: OverlapAsked) -> Iterator[Finding]:
    for index, capture in enumerate(transfer_of(dossier).captures):
        parts = [f for f in dossier.files if f.capture == capture.id and f.made == "part"]
        for one, other in pairwise(sorted(parts, key=lambda file: file.starts_at)):
            if one.frames is None or one.pcm is None:
                continue
            common = Decimal(one.starts_at + one.frames - other.starts_at)
            if common < asked.seconds * one.pcm.sample_rate_hz:
                has = plain(round(max(common, Decimal(0)) / one.pcm.sample_rate_hz, 2))
                text = f"the parts of {capture.id!r} have {has} s in common; "
                text += f"{plain(asked.seconds)} s are wanted."
                yield PARTS_WITHOUT_OVERLAP.at(dossier.place(f"/captures/{index}"), text)
                break


def _stops(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    if transfer.recipient is None or transfer.recipient.stop_at_speed_change is not True:
        return
    for one in _following(transfer):
        if one.is_one_capture and "speed change" in one.changes:
            speeds = [speed(each.speed_ips or Decimal(0)) for each in (one.before, one.after)]
            text = f"capture {one.after.capture!r} goes from {speeds[0]} to {speeds[1]}."
            yield SPEED_CHANGE_UNSTOPPED.at(dossier.place(f"{one.pointer}/speed_ips"), text)


def _end_out(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    rule = transfer.recipient.house_rule_end_out if transfer.recipient is not None else None
    end = transfer.reel.end_out_on_leaving
    if rule is None or end is None or end == rule:
        return
    recorded = [one for one in placed(transfer) if one.region.kind in _RECORDINGS]
    is_one_side = len({one.side.id for one in recorded}) == 1
    if is_one_side and all(one.region.direction == "forward" for one in recorded):
        text = f"{end} out; the house rule of {printable(_name(transfer))} is {rule} out."
        yield HOUSE_RULE_END_OUT.at(dossier.place("/reel/end_out_on_leaving"), text)


def _photographs(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    asked = transfer.recipient.images if transfer.recipient is not None else ()
    taken = [*transfer.reel.images, *(i for e in transfer.reel.events for i in e.images)]
    seen = {one.role for one in taken}
    missing = [role for role in dict.fromkeys(asked) if role not in seen]
    if missing and transfer.reel.absent.get("images") != "not applicable":
        text = f"they want photographs of: {', '.join(missing)}."
        yield PHOTOGRAPH_ASKED.at(dossier.place("/reel/images"), text)


def _listening(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    sample = transfer.recipient.listening_sample if transfer.recipient is not None else None
    if sample is None:
        return
    wanted = sample.share_percent
    for index, capture in enumerate(transfer.captures):
        heard = [one for one in transfer.listening if one.capture in (None, capture.id)]
        shares = [one.share_percent for one in heard if one.share_percent is not None]
        if not heard:
            text = f"nobody is said to have listened to {capture.id!r}."
        elif wanted is None or max(shares, default=Decimal(-1)) >= wanted:
            continue
        elif not shares:
            text = (
                f"nobody says how much of {capture.id!r} was heard; {plain(wanted)} % are wanted."
            )
        else:
            most = plain(max(shares))
            text = f"{most} % of {capture.id!r} were heard; {plain(wanted)} % are wanted."
        yield LISTENED_TOO_LITTLE.at(dossier.place(f"/captures/{index}"), text)


def _name(transfer: Transfer) -> str:
    recipient = transfer.recipient
    return (recipient.name or recipient.id) if recipient is not None else ""


RULES = (
    Rule(
        name="joins as the recipient wants them",
        kinds=(OVERLAP_UNSAID, OVERLAP_SHORT, PARTS_WITHOUT_OVERLAP),
        needs=frozenset({"statements"}),
        run=_overlaps,
    ),
    Rule(
        name="a file for each speed",
        kinds=(SPEED_CHANGE_UNSTOPPED,),
        needs=frozenset({"statements"}),
        run=_stops,
    ),
    Rule(
        name="house rule of the recipient",
        kinds=(HOUSE_RULE_END_OUT,),
        needs=frozenset({"statements"}),
        run=_end_out,
    ),
    Rule(
        name="photographs that the recipient asks for",
        kinds=(PHOTOGRAPH_ASKED,),
        needs=frozenset({"statements"}),
        run=_photographs,
    ),
    Rule(
        name="listening that the recipient asks for",
        kinds=(LISTENED_TOO_LITTLE,),
        needs=frozenset({"statements"}),
        run=_listening,
    ),
)
