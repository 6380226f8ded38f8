"""The document of an `axml` chunk: EBUCore (EBU Tech 3293), as little as tells a file by itself.

EBU Tech 3285 supplement 5 takes any XML 1.0. EBUCore is the EBU's own and counts parts in samples,
where Dublin Core alone has no place for a moment. Its namespaces are those of version 1.10; the
order of elements, the parts and the counting in edit units are from memory, not from its schema.
"""

from collections.abc import Sequence

from tailsout.ground.pcm import Pcm
from tailsout.mapping import xml
from tailsout.mapping.xml import Element
from tailsout.wave.marks import Mark

EBUCORE = "urn:ebu:metadata-schema:ebucore"
DUBLIN_CORE = "http://purl.org/dc/elements/1.1/"


def name_of(root: Element) -> tuple[str, str]:
    """Tell a stranger's document by its root: local name, and namespace or nothing."""
    namespace, _, name = root.tag.rpartition("}")
    return name, namespace.removeprefix("{")


def build(
    *,
    title: str,
    identifier: str,
    created: str,
    pcm: Pcm,
    frames: int,
    marks: Sequence[Mark] = (),
) -> bytes:
    """Return a document about one file; `created` is its day, `YYYY-MM-DD`, or empty.

    Raises MaterialError for text that XML cannot hold.
    """
    core = [_described("title", title)]
    if created:
        day = _element("created", attributes={"startDate": created})
        core.append(_element("date", [day]))
    core.append(_format(pcm, frames))
    core.append(_described("identifier", identifier))
    core += [_part(number, mark, pcm) for number, mark in enumerate(marks, start=1)]
    root = _element(
        "ebuCoreMain",
        [_element("coreMetadata", core)],
        prefixes={None: EBUCORE, "dc": DUBLIN_CORE},
    )
    return xml.write(root)


def _element(
    name: str,
    content: str | Sequence[Element] = "",
    *,
    attributes: dict[str, str] | None = None,
    prefixes: dict[str | None, str] | None = None,
) -> Element:
    return xml.element(f"{{{EBUCORE}}}{name}", content, attributes=attributes, prefixes=prefixes)


def _described(name: str, text: str) -> Element:
    """Return what EBUCore shares with Dublin Core: an element of the same name inside its own."""
    return _element(name, [xml.element(f"{{{DUBLIN_CORE}}}{name}", text)])


def _counted(name: str, frames: int, pcm: Pcm) -> Element:
    rate = {"editRate": str(pcm.sample_rate_hz)}
    return _element(name, [_element("editUnitNumber", str(frames), attributes=rate)])


def _format(pcm: Pcm, frames: int) -> Element:
    audio = (
        ("samplingRate", pcm.sample_rate_hz),
        ("sampleSize", pcm.valid_bits),
        ("sampleType", "float" if pcm.is_float else "integer"),
        ("channels", pcm.channels),
    )
    described = _element("audioFormat", [_element(name, str(value)) for name, value in audio])
    return _element("format", [described, _counted("duration", frames, pcm)])


def _part(number: int, mark: Mark, pcm: Pcm) -> Element:
    content = [_described("description", mark.note)] if mark.note else []
    content.append(_counted("partStartTime", mark.frame, pcm))
    if mark.frames is not None:
        content.append(_counted("partDuration", mark.frames, pcm))
    return _element("part", content, attributes={"partId": str(number), "partName": mark.label})
