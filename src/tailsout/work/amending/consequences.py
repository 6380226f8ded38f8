"""What follows from an amendment: renewed headers, new captures, the record, the Dossier."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from tailsout.ground.clock import stamp
from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Finding
from tailsout.mapping.forms.amending import AmendmentForm
from tailsout.records.amendment import Amendment, FileChange
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.work.amending import copies
from tailsout.work.amending.copies import CopyPlan
from tailsout.work.amending.draft import Draft
from tailsout.work.amending.file_facts import amended_facts
from tailsout.work.amending.renewed import Renewed, renewed
from tailsout.work.amending.retaken import Retaken, retake
from tailsout.work.amending.superseded import Superseded
from tailsout.work.surroundings import Surroundings


@dataclass(frozen=True, slots=True, kw_only=True)
class Consequences:
    """All that changes with what is wished."""

    renewed: Mapping[str, Renewed]
    """Masters with a new header, by the path they have."""
    copies: Mapping[str, CopyPlan]
    """What becomes of the access copies of each master that stays, by the path it has."""
    retaken: Retaken
    amendments: tuple[Amendment, ...]
    """Of all versions, the one that is being made last."""
    dossier: Dossier
    """As it will be, for the rules that need no bag."""
    notes: tuple[Finding, ...]


def work_out(
    old: Superseded,
    wished: AmendmentForm,
    draft: Draft,
    around: Surroundings,
    *,
    only_plan: bool,
) -> Consequences:
    """Work out what follows from a draft; better transfers are measured unless only planned.

    Raises MaterialError for a header, a copy or a capture that cannot be made, SurroundingsError
    for a capture that is growing or cannot be read.
    """
    headers = _headers(old, draft)
    listening = copies.planned_for(old, draft)
    new = _retaken(old, draft, around, only_plan=only_plan)
    amendment = Amendment(
        version=old.version + 1,
        supersedes=old.name,
        manifests=old.pinned,
        by=wished.by,
        on=wished.on,
        why=wished.why,
        written=stamp(around.instant),
        software=around.software,
        statements=tuple(draft.statements),
        files=(
            *(_named(one, draft, new) for one in draft.files),
            *(FileChange(path=path, change="header renewed") for path in headers),
            *copies.changes(old, draft, listening),
        ),
        algorithms=draft.algorithms,
    )
    gone = [one.at for one in draft.statements if one.change == "withheld"]
    amendments = _without_withheld((*old.amendments, amendment), gone)
    dossier, notes = _dossier(old, draft, headers, new, amendments)
    return Consequences(
        renewed=headers,
        copies=listening,
        retaken=new,
        amendments=amendments,
        dossier=dossier,
        notes=(*notes, *(note for one in headers.values() for note in one.notes)),
    )


def _headers(old: Superseded, draft: Draft) -> dict[str, Renewed]:
    """Say which masters get a new header, by their path."""
    found: dict[str, Renewed] = {}
    if draft.transfer is None or not (draft.statements or draft.renamed):
        return found
    for file in old.dossier.files:
        if file.sidecar is None or file.path in draft.withdrawn:
            continue
        path = draft.renamed.get(file.path, file.path)
        one = renewed(old, file, draft.transfer, path)
        if one is not None:
            found[file.path] = one
    return found


def _retaken(old: Superseded, draft: Draft, around: Surroundings, *, only_plan: bool) -> Retaken:
    """Look into the better transfers. Raises as `retake`, MaterialError for a name taken."""
    if draft.transfer is None or not draft.retaken:
        return Retaken(taken={}, passed={}, digests={}, dossier=Dossier(origin="closing"))
    new = retake(draft.retaken, old, draft.transfer, around, only_plan=only_plan)
    for path in draft.retaken:
        taken = new.path(path, draft.transfer)
        if taken != path and taken in old.octets:
            raise MaterialError(
                f"The better transfer of {path} would become {taken}, which is there already.",
                "Rename the new capture.",
            )
    return new


def _named(change: FileChange, draft: Draft, new: Retaken) -> FileChange:
    """Say what a file is called now, where that is not as the master was called."""
    if change.change == "renamed":
        return replace(change, now=draft.renamed[change.path])
    if change.path not in new.taken or draft.transfer is None:
        return change
    now = new.path(change.path, draft.transfer)
    return replace(change, now=now if now != change.path else None)


def _dossier(
    old: Superseded,
    draft: Draft,
    headers: dict[str, Renewed],
    new: Retaken,
    amendments: tuple[Amendment, ...],
) -> tuple[Dossier, tuple[Finding, ...]]:
    """Return what will be known of the new version, for the rules that need no bag, and notes."""
    files: list[FileRecord] = []
    notes: list[Finding] = []
    for file in old.dossier.files:
        if file.path in draft.withdrawn:
            continue
        one = headers[file.path].file if file.path in headers else file
        seen, found = _amended(one, old, draft, amendments)
        files.append(seen)
        notes += found
    alone, now = old.dossier.record_only, draft.transfer
    if alone is not None and now is not None:
        alone = replace(alone, transfer=now, amendments=amendments)
    return replace(
        old.dossier,
        transfer=now,
        record_only=alone,
        files=(*files, *new.files),
        package=None,
        amendments=amendments,
        descriptions=(),
        examined=old.dossier.examined - {"structure", "manifests", "descriptions"},
    ), tuple(notes)


def _amended(
    file: FileRecord, old: Superseded, draft: Draft, amendments: tuple[Amendment, ...]
) -> tuple[FileRecord, tuple[Finding, ...]]:
    """Return what is known of a file by the statements as they are now."""
    car, was, now = file.sidecar, old.dossier.transfer, draft.transfer
    if car is None or was is None or now is None:
        return file, ()
    stated = car.this_file
    notes: tuple[Finding, ...] = ()
    if stated is not None:
        stated, notes = amended_facts(stated, was, now, old.dossier.calibrations)
        path = draft.renamed.get(file.path, file.path)
        stated = replace(stated, path=path)
        file = replace(file, path=path, regions=stated.regions, scales=stated.scales)
    car = replace(car, transfer=now, amendments=amendments, this_file=stated)
    return replace(file, sidecar=car), notes


def _without_withheld(
    amendments: Iterable[Amendment], withheld: Iterable[str]
) -> tuple[Amendment, ...]:
    """Take out of what was told earlier whatever is withheld now; `withheld` are the pointers."""
    gone = tuple(withheld)

    def is_about(at: str) -> bool:
        return any(f"{at}/".startswith(f"{one}/") or f"{one}/".startswith(f"{at}/") for one in gone)

    return tuple(
        replace(
            one,
            statements=tuple(
                replace(said, was=None, now=None) if is_about(said.at) else said
                for said in one.statements
            ),
        )
        for one in amendments
    )
