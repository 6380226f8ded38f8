"""What an amendment comes to: headers to renew, captures to take in, the record and the Dossier."""

from dataclasses import replace

from tailsout.ground.clock import stamp
from tailsout.ground.errors import MaterialError
from tailsout.mapping.forms.amending import AmendmentForm
from tailsout.records.amendment import Amendment, FileChange
from tailsout.records.dossier import Dossier
from tailsout.work.close_out import Surroundings
from tailsout.work.renewed import Renewed, renewed
from tailsout.work.retaken import Retaken, retake
from tailsout.work.superseded import Superseded
from tailsout.work.wished import Draft


def headers(old: Superseded, draft: Draft) -> dict[str, Renewed]:
    """Say which masters get a new header, by their path."""
    found: dict[str, Renewed] = {}
    if draft.transfer is None or not draft.statements:
        return found
    for file in old.dossier.files:
        if file.sidecar is None or file.path in draft.withdrawn:
            continue
        one = renewed(old, file, draft.transfer)
        if one is not None:
            found[file.path] = one
    return found


def retaken(old: Superseded, draft: Draft, around: Surroundings, *, only_plan: bool) -> Retaken:
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


def amendment(
    old: Superseded,
    wished: AmendmentForm,
    around: Surroundings,
    *,
    draft: Draft,
    files: tuple[FileChange, ...],
) -> Amendment:
    """Return what is told of the amendment, in every side-car and in the package's own list."""
    return Amendment(
        version=old.version + 1,
        supersedes=old.name,
        manifests=old.pinned,
        by=wished.by,
        on=wished.on,
        why=wished.why,
        written=stamp(around.instant),
        software=around.software,
        statements=tuple(draft.statements),
        files=files,
        algorithms=draft.algorithms,
    )


def files(draft: Draft, headers: dict[str, Renewed], new: Retaken) -> tuple[FileChange, ...]:
    """Return every file that changes: as was wished, and those whose header follows from it."""
    return (
        *(_named(one, draft, new) for one in draft.files),
        *(FileChange(path=path, change="header renewed") for path in headers),
    )


def _named(change: FileChange, draft: Draft, new: Retaken) -> FileChange:
    """Say what a better transfer is called, where that is not as the master was called."""
    if change.path not in new.taken or draft.transfer is None:
        return change
    now = new.path(change.path, draft.transfer)
    return replace(change, now=now if now != change.path else None)


def dossier(
    old: Superseded,
    draft: Draft,
    headers: dict[str, Renewed],
    new: Retaken,
    amendments: tuple[Amendment, ...],
) -> Dossier:
    """Return what will be known of the new version, for the rules that need no bag."""
    files = [
        headers[file.path].file if file.path in headers else file
        for file in old.dossier.files
        if file.path not in draft.withdrawn
    ]
    files = [
        replace(
            file,
            sidecar=replace(file.sidecar, transfer=draft.transfer, amendments=amendments),
        )
        if file.sidecar is not None and draft.transfer is not None
        else file
        for file in files
    ]
    return replace(
        old.dossier,
        transfer=draft.transfer,
        files=(*files, *new.files),
        package=None,
        amendments=amendments,
        examined=old.dossier.examined - {"structure", "manifests"},
    )
