"""What is withheld in one place and still stands in another: a redaction is to be whole."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.mapping.plain import plain
from tailsout.wave.riff import read_chunk, read_layout
from tailsout.work.audio import audio_in

if TYPE_CHECKING:
    from tailsout.work.amending.next_version import NextVersion

WITHHELD_ELSEWHERE = Kind(
    code="withheld-elsewhere",
    severity=Severity.QUERY,
    title="A text that is withheld still stands elsewhere in the new version",
    basis="own rule: what is withheld is gone from the version that withholds it",
    remedy="Whoever asked for it decides whether it may stand there; withhold it there too, or "
    "withdraw the file.",
)
KINDS = (WITHHELD_ELSEWHERE,)

SHORTEST = 4
"""Characters from which a text is looked for: shorter ones stand everywhere."""
_MOST_OCTETS = 4 << 20


def found(version: "NextVersion") -> Iterator[Finding]:
    """Yield every place where a withheld text still stands.

    Statements, bag-info, tag files, the chunks of the masters and documents of plain octets are
    searched; a text inside a compressed document or a photograph cannot be found so.
    """
    texts = [one for one in dict.fromkeys(version.draft.withheld) if len(one) >= SHORTEST]
    if not texts:
        return
    for place, content in _places(version):
        if any(text in content for text in texts):
            yield WITHHELD_ELSEWHERE.at(place, "a text that is withheld stands here too.")


def _places(version: "NextVersion") -> Iterator[tuple[Place, str]]:
    transfer = plain(version.draft.transfer)
    yield from _texts(transfer, "/transfer")
    for index, one in enumerate(version.amendments):
        yield from _texts(plain(one), f"/amendments/{index}")
    for file in version.dossier.files:
        rest = plain(file.sidecar) if file.sidecar is not None else {}
        for key in sorted(rest.keys() - {"transfer", "amendments"}):
            yield from _texts(rest[key], f"/{key}", printable(naming.sidecar_path(file.path)))
    for label, value in version.bag_info():
        yield Place(file="bag-info.txt", part=printable(label, 100)), value
    yield from _files(version)


def _texts(value: object, pointer: str, file: str = "side-car") -> Iterator[tuple[Place, str]]:
    waiting = [(pointer, value)]
    while waiting:
        at, one = waiting.pop(0)
        if isinstance(one, dict):
            waiting += [(f"{at}/{key}", inside) for key, inside in one.items()]
        elif isinstance(one, list):
            waiting += [(f"{at}/{index}", inside) for index, inside in enumerate(one)]
        elif isinstance(one, str):
            yield Place(file=file, part=printable(at, 200)), one


def _files(version: "NextVersion") -> Iterator[tuple[Place, str]]:
    old, draft = version.old, version.draft
    masters = {file.path for file in old.dossier.files}
    for path in old.octets:
        if path in draft.withdrawn or not version.carries(path):
            continue
        shown = Place(file=printable(path))
        if path in masters:
            for name, content in _chunks(version, path):
                yield Place(file=shown.file, part=name), content
        elif old.octets[path] <= _MOST_OCTETS:
            yield shown, old.bag.read(path, _MOST_OCTETS).decode("utf-8", "replace")


def _chunks(version: "NextVersion", path: str) -> Iterator[tuple[str, str]]:
    """Yield the chunks of a master that stay in it, as text."""
    given = version.renewed.get(path)
    gone = {octets for _, octets in given.gave_way} if given else set()
    with version.old.bag.stream(path) as raw:
        stream = audio_in(raw, path).stream
        for chunk in read_layout(stream).chunks:
            if chunk.id in (b"data", b"fmt ", b"ds64") or chunk.octets > _MOST_OCTETS:
                continue
            payload = read_chunk(stream, chunk, _MOST_OCTETS)
            if payload not in gone:
                yield printable(chunk.id.decode("latin-1")).strip(), payload.decode("latin-1")
