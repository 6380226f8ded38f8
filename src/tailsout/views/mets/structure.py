"""From the recording over reel and side to each region; the package as its files are grouped."""

from collections.abc import Iterator

from tailsout.mapping.xml import Element
from tailsout.records.reel import Region
from tailsout.records.transfer import Transfer
from tailsout.views.mets.files import by_use, file_key
from tailsout.views.mets.parts import made, section_id, section_ids
from tailsout.views.packaged import Packaged, Stretch
from tailsout.views.premis import Entities
from tailsout.views.premis.identifiers import package_id, recording_id, reel_id
from tailsout.views.xml_text import holdable


def structure_maps(packaged: Packaged, described: str, entities: Entities) -> Iterator[Element]:
    """Yield the maps; `described` is the section that describes the recording."""
    if packaged.transfer is not None:
        of_reel = {"ADMID": section_ids(reel_id(packaged), entities)}
        reel = _div("reel", _sides(packaged, packaged.transfer), of_reel)
        rights = (section_id(one.id) for one in entities.rights)
        known = " ".join([section_ids(recording_id(packaged), entities), *rights])
        attributes = {"DMDID": described, "ADMID": known}
        recording = _div("recording", [reel], attributes)
        yield made("structMap", [recording], {"TYPE": "physical"})
    uses = [
        _div(use, [_pointer(file_key(packaged, file)) for file in files], {})
        for use, files in by_use(packaged).items()
    ]
    attributes = {"DMDID": described, "ADMID": section_ids(package_id(packaged), entities)}
    yield made("structMap", [_div("package", uses, attributes)], {"TYPE": "files"})


def _div(
    kind: str, content: list[Element], attributes: dict[str, str], label: str | None = None
) -> Element:
    named = {"LABEL": holdable(label)} if label else {}
    kind = holdable(kind)
    return made("div", content, {"TYPE": kind, **named, **attributes})


def _pointer(key: str) -> Element:
    return made("fptr", (), {"FILEID": key})


def _sides(packaged: Packaged, transfer: Transfer) -> list[Element]:
    found: dict[int, list[Element]] = {number: [] for number in range(len(transfer.reel.sides))}
    stretches: dict[str, list[Stretch]] = {}
    for one in packaged.stretches:
        stretches.setdefault(one.pointer, []).append(one)
    for pointer, _, region in packaged.regions():
        side = int(pointer.split("/")[3])
        found[side].append(_region(packaged, region, stretches.get(pointer, [])))
    return [
        _div("side", found[number], {}, side.title or side.id)
        for number, side in enumerate(transfer.reel.sides)
    ]


def _region(packaged: Packaged, region: Region, stretches: list[Stretch]) -> Element:
    areas = [_area(packaged, one) for one in stretches]
    content = []
    if len(areas) == 1:
        content = [made("fptr", areas)]
    elif areas:
        # Tracks of one moment sound together; parts of a split capture follow each other.
        tracks = all(one.file.record and one.file.record.track for one in stretches)
        content = [made("fptr", [made("par" if tracks else "seq", areas)])]
    return _div(region.kind, content, {}, region.title)


def _area(packaged: Packaged, one: Stretch) -> Element:
    record = one.file.record
    rate = record.pcm.sample_rate_hz if record is not None and record.pcm is not None else 0
    attributes = {
        "FILEID": file_key(packaged, one.file),
        "ADMID": section_id(packaged.stretch_id(one)),
    }
    if rate:
        attributes |= {"BETYPE": "TIME", "BEGIN": time_code(one.start, rate)}
        if one.end is not None:
            attributes["END"] = time_code(one.end, rate)
    return made("area", (), attributes)


def time_code(sample: int, rate_hz: int) -> str:
    """Write a position as hours, minutes and seconds, cut to the millisecond."""
    thousandths = sample * 1000 // rate_hz
    seconds, thousandths = divmod(thousandths, 1000)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02d}:{minutes:02d}:{seconds:02d}.{thousandths:03d}"
