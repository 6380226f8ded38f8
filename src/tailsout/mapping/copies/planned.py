"""Which access copies are made of a master: stretch, recipe, name, tags."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from tailsout.ground.errors import MaterialError
from tailsout.ground.pcm import Pcm
from tailsout.ground.units import printable
from tailsout.mapping import masters, naming
from tailsout.mapping.copies.corrections import corrected
from tailsout.mapping.copies.wishes import (
    ENDINGS,
    recipe_of,
    refuse_contradicting,
    refuse_too_long,
    unmet,
)
from tailsout.mapping.names import tree
from tailsout.mapping.names.asked import separator_of, template_of
from tailsout.mapping.names.fields import Fault, Template, Value
from tailsout.mapping.names.filling import fill, tell
from tailsout.mapping.names.values import known_of, role_of
from tailsout.records.access import CopyRecipe
from tailsout.records.dossier import FileRecord
from tailsout.records.recipient import CopyAsked
from tailsout.records.reel import Region, Side
from tailsout.records.transfer import Transfer


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedCopy:
    """A copy that is to be made of a master."""

    path: str
    """In the package."""
    recipe: CopyRecipe
    regions: tuple[str, ...]
    """Ids of the regions in it."""
    tags: tuple[tuple[str, str], ...]
    """Word of a tag and its text, as the recipient asks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stretch:
    """What of a master is to be in one copy."""

    start: int
    end: int
    regions: tuple[Region, ...]
    values: Mapping[str, Value]
    """What it is told apart by, by the keys of a template's fields."""
    suffix: str
    """What its name has behind the master's, without a template."""


def planned(transfer: Transfer, file: FileRecord) -> tuple[PlannedCopy, ...]:
    """Return the copies to be made of a master, or of the one made of a capture's `file`.

    Raises MaterialError for a wish that cannot be met, a copy without a name, and two of one name.
    """
    wishes = transfer.recipient.copies if transfer.recipient is not None else ()
    found: list[PlannedCopy] = []
    for asked in wishes:
        refuse_contradicting(transfer, asked)
        if file.pcm is None or file.frames is None or file.capture is None:
            continue
        pcm, stretches = file.pcm, _stretches(transfer, file, file.frames, asked)
        found += (_planned(transfer, file, pcm, asked, one) for one in stretches)
    _refuse_clashing(one.path for one in found)
    return tuple(found)


def paths_of(transfer: Transfer, files: Iterable[FileRecord]) -> tuple[str, ...]:
    """Return the paths of all copies to be made of the files of captures. Raises as `planned`."""
    paths = tuple(one.path for file in files for one in planned(transfer, file))
    _refuse_clashing(paths)
    return paths


def _refuse_clashing(paths: Iterable[str]) -> None:
    seen: set[str] = set()
    for path in paths:
        if path in seen:
            raise MaterialError(
                f"Two access copies would have one name in the package, {printable(path)}.",
                "Give the recipient's template of names something that tells them apart, such as "
                "{region}; of one format there is one copy of each stretch.",
            )
        seen.add(path)


def _stretches(
    transfer: Transfer, file: FileRecord, frames: int, asked: CopyAsked
) -> Iterator[_Stretch]:
    lying = list(_programme(transfer, file, frames))
    if asked.per == "region":
        for one in lying:
            values = one.of_side | {"region": one.region.id, "region-number": one.number}
            yield _stretch([one], values, one.region.id)
    elif asked.per == "side":
        for side in dict.fromkeys(one.side.id for one in lying):
            own = [one for one in lying if one.side.id == side]
            yield _stretch(own, own[0].of_side, side)
    elif frames:
        regions = tuple(one.region for one in lying)
        yield _Stretch(start=0, end=frames, regions=regions, values={}, suffix="")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lying:
    """A programme that lies in a file, or the part of it that does."""

    side: Side
    side_number: int
    region: Region
    number: int
    span: tuple[int, int]

    @property
    def of_side(self) -> dict[str, Value]:
        return {"side": self.side.id, "side-number": self.side_number}


def _stretch(own: list[_Lying], values: Mapping[str, Value], suffix: str) -> _Stretch:
    return _Stretch(
        start=min(one.span[0] for one in own),
        end=max(one.span[1] for one in own),
        regions=tuple(one.region for one in own),
        values=values,
        suffix=suffix,
    )


def _programme(transfer: Transfer, file: FileRecord, frames: int) -> Iterator[_Lying]:
    for side_number, side in enumerate(transfer.reel.sides, start=1):
        for number, region in enumerate(side.regions, start=1):
            if region.capture != file.capture or region.kind != "programme":
                continue
            start = max(0, region.start - file.starts_at)
            end = frames if region.end is None else min(frames, region.end - file.starts_at)
            if start < end:
                yield _Lying(
                    side=side,
                    side_number=side_number,
                    region=region,
                    number=number,
                    span=(start, end),
                )


def _planned(
    transfer: Transfer, file: FileRecord, pcm: Pcm, asked: CopyAsked, one: _Stretch
) -> PlannedCopy:
    known = {
        **known_of(transfer, file).values,
        **one.values,
        "role": role_of(transfer.recipient, "access"),
    }
    recipe = recipe_of(transfer, asked, pcm, start=one.start, end=one.end, path=file.path)
    if asked.corrections:
        recipe = corrected(transfer, asked, one.regions[0], recipe)
    refuse_too_long(transfer, recipe, pcm, file.path)
    return PlannedCopy(
        path=_path(transfer, file, asked, one.suffix, known),
        recipe=recipe,
        regions=tuple(region.id for region in one.regions),
        tags=tuple(_tags(transfer, asked, known)),
    )


def _path(
    transfer: Transfer, file: FileRecord, asked: CopyAsked, suffix: str, known: Mapping[str, Value]
) -> str:
    template = template_of(transfer.recipient)
    if isinstance(template, Template):
        stem = fill(template, known, separator_of(transfer.recipient))
        if isinstance(stem, Fault):
            raise MaterialError(
                f"An access copy of {printable(file.path)} would have no name: {stem.text}",
                "Say what is missing, or correct the template of names in the recipient's form.",
            )
    else:
        master = naming.master_stem(masters.master_path(transfer, file))
        stem = f"{master}-{suffix}" if suffix else master
    return f"{tree.folder(transfer.recipient, 'access')}/{stem}.{ENDINGS[asked.format]}"


def _tags(
    transfer: Transfer, asked: CopyAsked, known: Mapping[str, Value]
) -> Iterator[tuple[str, str]]:
    """Yield the tags asked for whose fields are all known; without any wish, reel and package."""
    for one in asked.tags:
        told = tell(one.text, known)
        if not isinstance(told, Fault):
            yield one.tag, told
        elif not told.key:
            raise unmet(
                transfer, f"the tag {one.tag} with a text that is not a template: {told.text}"
            )
    if not asked.tags:
        yield "album", transfer.package_id
        if transfer.reel.title is not None:
            yield "title", transfer.reel.title
