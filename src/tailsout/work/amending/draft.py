"""What the form of an amendment wishes, held against the package: every fault of it at once."""

from collections.abc import Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from tailsout.bag.names import to_disk
from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Finding, Kind
from tailsout.ground.units import printable
from tailsout.mapping import amending, naming, schemas
from tailsout.mapping.forms import meant
from tailsout.mapping.forms.amending import AmendmentForm, FileWish
from tailsout.mapping.forms.form import FORM_REFERENCE, FORM_VALUE
from tailsout.mapping.forms.references import broken_in
from tailsout.mapping.names import tree
from tailsout.mapping.plain import plain, record
from tailsout.records.amendment import FileChange, StatementChange
from tailsout.records.recipient import Recipient
from tailsout.records.transfer import Transfer
from tailsout.work.amending.renamed import renamings
from tailsout.work.amending.superseded import Superseded

_REPLACEABLE = frozenset({"as captured", "restored from FLAC"})


@dataclass(slots=True, kw_only=True)
class Draft:
    """What is to change, worked out; filled while the form is gone through."""

    transfer: Transfer | None = None
    """As it will be; None for a package without side-cars of ours."""
    statements: list[StatementChange] = field(default_factory=list)
    files: list[FileChange] = field(default_factory=list)
    algorithms: tuple[str, ...] = ()
    """Those that are added."""
    withheld: list[str] = field(default_factory=list)
    """The texts that are withheld."""
    withdrawn: set[str] = field(default_factory=set)
    """Paths that the new version does not have, side-cars among them."""
    brought: dict[str, Path] = field(default_factory=dict)
    """New files that are packed as they are, by their path in the package."""
    retaken: dict[str, Path] = field(default_factory=dict)
    """Better transfers, by the path of the master whose place they take."""
    renamed: dict[str, str] = field(default_factory=dict)
    """What masters will be called, by what they are called."""


_Wrong = Iterator[tuple[str, Kind, str]]


def held_against(
    wished: AmendmentForm, old: Superseded, folder: Path
) -> tuple[Draft, tuple[Finding, ...]]:
    """Work out what changes; `folder` is where the form lies. Findings if something cannot be."""
    draft = Draft(transfer=old.dossier.transfer)
    wrong = [*_files(wished, old, folder, draft), *_algorithms(wished, old, draft)]
    wrong += _statements(wished, old, draft)
    # Only now is it settled what the recipient's template is, and what is known.
    if not wrong:
        wrong += renamings(wished, old, draft.transfer, draft.renamed)
    places = wished.places(*(pointer for pointer, _, _ in wrong))
    return draft, tuple(kind.at(places[pointer], text) for pointer, kind, text in wrong)


# Statements


def _statements(wished: AmendmentForm, old: Superseded, draft: Draft) -> _Wrong:
    if old.dossier.transfer is None:
        if wished.statements:
            text = (
                "the package has no side-car of ours, so it states nothing that could be changed; "
                "files and algorithms can be."
            )
            yield "/statements/0", FORM_REFERENCE, text
        return
    data = deepcopy(plain(old.dossier.transfer))
    before = set(broken_in(data, _kept_files(old, set())))
    places: list[tuple[str, str]] = []
    rates = {f.capture: f.pcm.sample_rate_hz for f in old.dossier.files if f.pcm and f.capture}
    for pointer, wish in (*_retakings(wished, data, old, draft), *_typed(wished)):
        try:
            told, texts = amending.change(data, amending.at_rate(wish, data, rates))
        except MaterialError as error:
            yield f"{pointer}/at", FORM_REFERENCE, printable(error.sentence)
            continue
        draft.statements.append(told)
        draft.withheld += texts
        places.append((pointer, told.at.removeprefix("/transfer")))
    faults = schemas.faults(data, "sidecar-0.1", "transfer")
    for fault in faults:
        is_whole = any(fault.pointer == at for _, at in places)
        said = meant.told(fault, called="now" if is_whole else "")
        yield _blamed(places, fault.pointer), FORM_VALUE, printable(said)
    if faults:
        return
    for pointer, text in broken_in(data, _kept_files(old, draft.withdrawn, draft.brought)):
        # What is withheld is named by that word, and need not be there.
        if (pointer, text) not in before and f"'{amending.WITHHELD}'" not in text:
            yield _blamed(places, pointer), FORM_REFERENCE, f"of {_dotted(pointer)}: {text}"
    draft.transfer = record(data, Transfer, strict=False)


def _typed(wished: AmendmentForm) -> Iterator[tuple[str, amending.Wish]]:
    for index, wish in enumerate(wished.statements):
        yield f"/statements/{index}", wish


def _retakings(
    wished: AmendmentForm, data: dict[str, Any], old: Superseded, draft: Draft
) -> Iterator[tuple[str, amending.Wish]]:
    """Yield what a better transfer changes of itself: the file that its capture names."""
    captures = {path: f.capture for f in old.dossier.files if (path := f.path) in draft.retaken}
    for index, one in enumerate(wished.files):
        for number, capture in enumerate(data.get("captures", ())):
            if one.source and captures.get(one.path) == capture["id"]:
                name = draft.retaken[one.path].name
                if name != capture["file"]:
                    at = f"captures[{number + 1}].file"
                    wish = amending.Wish(at=at, change="corrected", now=name)
                    yield f"/files/{index}", wish


def _kept_files(
    old: Superseded, withdrawn: set[str], brought: Mapping[str, Path] | None = None
) -> frozenset[str]:
    """Return the files of a package that statements may name, as paths in a job."""
    paths = ({*old.octets} - withdrawn) | set(brought or ())
    return frozenset(known for path in paths for known in tree.job_paths(_recipient(old), path))


def _recipient(old: Superseded) -> Recipient | None:
    return old.dossier.transfer.recipient if old.dossier.transfer is not None else None


def _blamed(places: list[tuple[str, str]], pointer: str) -> str:
    """Return the entry of the form whose change lies nearest to a place in the transfer."""
    for entry, changed in reversed(places):
        if f"{pointer}/".startswith(f"{changed}/") or f"{changed}/".startswith(f"{pointer}/"):
            return entry
    return places[-1][0] if places else "/files/0"


def _dotted(pointer: str) -> str:
    parts = pointer.split("/")[1:]
    shown = "".join(f"[{int(p) + 1}]" if p.isdecimal() else f".{p}" for p in parts)
    return printable(shown.removeprefix("."), 200)


# Files and algorithms


def _files(wished: AmendmentForm, old: Superseded, folder: Path, draft: Draft) -> _Wrong:
    for index, one in enumerate(wished.files):
        at = f"/files/{index}"
        why = _misplaced(one, old) or _not_to_be_changed(one, old)
        if why:
            yield f"{at}/path", FORM_REFERENCE, why
            continue
        source = folder / to_disk(one.source) if one.source else None
        if source is not None and not source.is_file():
            text = f"there is no file {printable(one.source or '')!r} beside the form."
            yield f"{at}/from", FORM_REFERENCE, text
            continue
        _take(one, source, old, draft)


def _misplaced(one: FileWish, old: Superseded) -> str:
    """Say why a path cannot be changed so; empty if it can be."""
    shown = printable(one.path, 200)
    if not one.path.startswith("data/"):
        return f"{shown!r} is not payload: only what lies in data is yours to change."
    there = one.path in old.octets
    if one.change == "added" and there:
        return f"{shown!r} is there already; it can be replaced."
    if one.change != "added" and not there:
        near = get_close_matches(one.path, old.octets, n=1)
        return f"{shown!r} is not there" + (f"; did you mean {near[0]!r}?" if near else ".")
    recipient = _recipient(old)
    may_lie_there = any(map(naming.is_kept, tree.job_paths(recipient, one.path)))
    if one.change == "added" and old.is_ours and not may_lie_there:
        folders = " or ".join(tree.folder(recipient, role) for role in ("image", "document"))
        return f"{shown!r} can be added in {folders} only; a better transfer replaces a master."
    return ""


def _not_to_be_changed(one: FileWish, old: Superseded) -> str:
    shown = printable(one.path, 200)
    cars = [naming.sidecar_path(file.path) for file in old.dossier.files if file.sidecar]
    if one.path in cars or (old.record_only and one.path == old.record_only[0]):
        return f"{shown!r} is a side-car, which is written anew with its statements."
    rested = {fact.path for fact in old.dossier.calibrations}
    if one.path in rested | {rest.path for rest in old.dossier.at_rest}:
        return f"what was read of the machine rests on {shown!r}."
    made = next((f.made for f in old.dossier.files if f.sidecar and f.path == one.path), None)
    if one.change == "replaced" and made is not None and made not in _REPLACEABLE:
        return f"{shown!r} was made of several files, or is one of several; close the job anew."
    return ""


def _take(one: FileWish, source: Path | None, old: Superseded, draft: Draft) -> None:
    is_master = any(file.sidecar and file.path == one.path for file in old.dossier.files)
    if one.change in {"withdrawn", "replaced"}:
        draft.withdrawn.add(one.path)
        if is_master:
            draft.withdrawn.add(naming.sidecar_path(one.path))
    if source is not None and is_master:
        draft.retaken[one.path] = source
    elif source is not None:
        draft.brought[one.path] = source
    draft.files.append(FileChange(path=one.path, change=one.change))


def _algorithms(wished: AmendmentForm, old: Superseded, draft: Draft) -> _Wrong:
    for index, one in enumerate(wished.algorithms):
        if one in old.algorithms:
            yield f"/algorithms/{index}", FORM_VALUE, f"the package has {one} already."
    # Without SHA-512 nothing could hold the superseded manifests to what they were.
    wanted = {*wished.algorithms, "sha512"}
    draft.algorithms = tuple(sorted(wanted - set(old.algorithms)))
