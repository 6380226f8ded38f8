"""Masters that get other names in a new version, by the recipient's template as it stands then."""

from collections.abc import Iterator
from dataclasses import replace

from tailsout.ground.findings import Kind
from tailsout.ground.portable import twin_key
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.mapping.forms.amending import AmendmentForm
from tailsout.mapping.forms.form import FORM_REFERENCE
from tailsout.mapping.names import tree
from tailsout.mapping.names.asked import stem_of, template_of
from tailsout.mapping.names.fields import Fault
from tailsout.records.dossier import FileRecord
from tailsout.records.transfer import Transfer
from tailsout.work.amending.superseded import Superseded


def renamings(
    wished: AmendmentForm, old: Superseded, now: Transfer | None, renamed: dict[str, str]
) -> Iterator[tuple[str, Kind, str]]:
    """Settle what masters will be called by the statements as they are `now`; fill `renamed`.

    Yields pointer, kind and text of every wish that cannot be.
    """
    ours = {file.path: file for file in old.dossier.files if file.sidecar is not None}
    wishes = [(n, one.path) for n, one in enumerate(wished.files) if one.change == "renamed"]
    leaving = {path for _, path in wishes}
    leaving |= {naming.sidecar_path(path) for path in leaving & ours.keys()}
    taken = {twin_key(path): path for path in old.octets if path not in leaving}
    for number, path in wishes:
        why = _why_not(path, ours.get(path), now)
        to = "" if why or now is None else _new_path(ours[path], now)
        targets = (to, naming.sidecar_path(to)) if to else ()
        holders = [taken.setdefault(twin_key(target), path) for target in targets]
        other = next((holder for holder in holders if holder != path), None)
        if other is not None:
            why = (
                f"{printable(path)!r} would become {printable(to)!r}, and {printable(other)!r} is "
            )
            why += "or becomes that too, on some system or on all."
        if why:
            yield f"/files/{number}/path", FORM_REFERENCE, why
        else:
            renamed[path] = to


def _why_not(path: str, file: FileRecord | None, now: Transfer | None) -> str:
    """Say why a file cannot be renamed; empty if it can."""
    shown = printable(path, 200)
    if file is None or now is None:
        return f"{shown!r} is not a master of ours: statements name the other files, as they are."
    if template_of(now.recipient) is None:
        return "the recipient has no template of names; state one under recipient.names."
    stem = stem_of(now, file)
    if isinstance(stem, Fault):
        return f"{shown!r} would have no name: {stem.text}"
    return f"{shown!r} is called so already." if _new_path(file, now) == path else ""


def _new_path(file: FileRecord, now: Transfer) -> str:
    stem = stem_of(now, replace(file, sidecar=None))
    return f"{tree.folder(now.recipient, 'master')}/{stem}.{file.path.rpartition('.')[2]}"
