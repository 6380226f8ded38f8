"""A master of a package under a new header, because what its chunks tell was amended.

What the header says is made once from the statements as they were and once as they are now; only
what differs is written anew. The samples and every other chunk stay as they are.
"""

import io
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import BinaryIO

from tailsout.bag.plan import Streamed
from tailsout.ground.digests import Hashing, digests_of
from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Finding
from tailsout.ground.progress import Progress
from tailsout.mapping import naming
from tailsout.mapping.chunks import Embedding, OwnChunks
from tailsout.mapping.embedded import embedded_of
from tailsout.mapping.headers import Header, header_for
from tailsout.records.capture import Capture
from tailsout.records.dossier import FileRecord
from tailsout.records.transfer import ThisFile, Transfer
from tailsout.wave import assembled, bext, embed, flac_encode
from tailsout.wave.embed import Recipe
from tailsout.wave.riff import Chunk, Layout, read_chunk, read_layout
from tailsout.work import compressed
from tailsout.work.amending.superseded import Superseded, damaged, strongest
from tailsout.work.audio import audio_in
from tailsout.work.replaced import MAX_AROUND_OCTETS
from tailsout.work.surroundings import ScratchFiles

_WISHES = (b"iXML", b"axml")


@dataclass(frozen=True, slots=True, kw_only=True)
class Renewed:
    """A master that gets a new header."""

    recipe: Recipe
    file: FileRecord
    """As it will be, for the rules, by the path it has."""
    path: str
    """Where it will lie."""
    gave_way: tuple[tuple[str, bytes], ...]
    """Path in the superseded version, with an ending for the chunk, and the octets of each."""
    notes: tuple[Finding, ...]


def renewed(old: Superseded, file: FileRecord, now: Transfer, path: str) -> Renewed | None:
    """Say how a master's header changes with the statements; None if it does not.

    `path` is where it will lie: its header tells what it is called.

    Raises MaterialError where what is in it cannot be told apart or made anew.
    """
    was, stated = old.dossier.transfer, file.stated
    if was is None or stated is None or file.pcm is None:
        return None
    with old.bag.stream(file.path) as raw:
        audio = audio_in(raw, file.path)
        layout = read_layout(audio.stream)
        own = _of_the_recorder(old, stated, layout)
        before = _made(file, file.path, stated, was, own)
        after = _made(file, path, stated, now, own)
        if before.bext == after.bext and _same(before.embedding, after.embedding):
            return None
        return replace(_laid(file, audio.stream, layout, before, after), path=path)


def _made(
    file: FileRecord, path: str, stated: ThisFile, transfer: Transfer, own: OwnChunks
) -> Header:
    return header_for(
        transfer,
        _capture(transfer, stated),
        file,
        path=path,
        file_id=stated.id,
        pcm=stated.pcm,
        facts=stated.measured,
        # The same for both headers: that another program amends them is no change to them.
        software=file.sidecar.software if file.sidecar else "",
        own=own,
    )


def _capture(transfer: Transfer, stated: ThisFile) -> Capture:
    found = next((one for one in transfer.captures if one.id == stated.capture), None)
    if found is None:
        raise MaterialError(
            f"{stated.path} holds the capture {stated.capture!r}, which nothing states any more.",
            "The id of a capture stays; say what else is known in its note.",
        )
    return found


def _same(one: Embedding, other: Embedding) -> bool:
    return (one.before, one.behind) == (other.before, other.behind)


def _of_the_recorder(old: Superseded, stated: ThisFile, layout: Layout) -> OwnChunks:
    """Read what was kept of the recorder's own chunks when the master was made."""
    stems = [naming.master_stem(one.file) for one in stated.sources]
    kept: dict[str, bytes] = {}
    for path in old.octets:
        if naming.is_captured_of(path, stems[:1]):
            kept[path.rpartition(".")[2]] = old.bag.read(path, MAX_AROUND_OCTETS)
    raw = kept.get("bext", b"") or _bext_before(kept.get("before-audio", b""))
    chunks = {
        kind: tuple(
            (_chunk(chunk_id, payload), payload)
            for name, payload in sorted(kept.items())
            if name == kind or name.startswith(f"{kind}-")
        )
        for kind, chunk_id in (("INFO", b"LIST"), ("cue", b"cue "), ("adtl", b"LIST"))
    }
    return OwnChunks(
        bext=bext.decode(raw)[0] if raw else None,
        info=chunks["INFO"],
        cue=chunks["cue"],
        adtl=chunks["adtl"],
        ids=frozenset(chunk.id for chunk in layout.chunks) - frozenset(_WISHES),
    )


def _chunk(chunk_id: bytes, payload: bytes) -> Chunk:
    return Chunk(id=chunk_id, header_offset=0, offset=0, octets=len(payload), pad=0)


def _bext_before(octets: bytes) -> bytes:
    """Return the payload of the bext chunk in what stood before the samples of a file."""
    stream = io.BytesIO(octets)
    found = read_layout(stream).named(b"bext")
    return read_chunk(stream, found[0], bext.MAX_OCTETS) if found else b""


def _laid(
    file: FileRecord, stream: BinaryIO, layout: Layout, before: Header, after: Header
) -> Renewed:
    chunk = next(iter(layout.named(b"bext")), None)
    raw = read_chunk(stream, chunk, bext.MAX_OCTETS) if chunk else b""
    gave_way: list[tuple[str, bytes]] = []
    new = raw
    if before.bext != after.bext or not raw:
        new = bext.encode(after.bext)
        gave_way.append((f"{file.path}.bext", raw))
    without: list[Chunk] = []
    embedding = Embedding()
    if not _same(before.embedding, after.embedding):
        embedding = after.embedding
        for one, name, payload in _ours(stream, layout, before.embedding):
            without.append(one)
            gave_way.append((f"{file.path}.{name}", payload))
    recipe = embed.plan(
        layout, bext=new, without=without, before=embedding.before, behind=embedding.behind
    )
    seen = replace(file, octets=recipe.octets, embedded=embedded_of(after.bext))
    return Renewed(
        recipe=recipe,
        file=seen,
        path=file.path,
        gave_way=tuple((name, octets) for name, octets in gave_way if octets),
        notes=tuple(one for one in after.notes if one not in before.notes),
    )


def _ours(stream: BinaryIO, layout: Layout, made: Embedding) -> Iterable[tuple[Chunk, str, bytes]]:
    """Yield the chunks of a master that were put in when it was made: chunk, name, payload.

    Raises MaterialError for one of which that cannot be told.
    """
    kinds = {
        _kind(chunk_id, payload): payload for chunk_id, payload in (*made.before, *made.behind)
    }
    counts: dict[str, int] = {}
    for chunk in layout.chunks:
        head = read_chunk(stream, chunk, 4)
        kind = _kind(chunk.id, head)
        if kind not in kinds:
            continue
        payload = read_chunk(stream, chunk, MAX_AROUND_OCTETS)
        if chunk.id in _WISHES and payload != kinds[kind]:
            raise MaterialError(
                f"The {kind} chunk of a master is not the one that its statements make: it may be "
                "the recorder's.",
                "Amend with the version of the program that made the package.",
            )
        counts[kind] = counts.get(kind, 0) + 1
        yield chunk, kind if counts[kind] == 1 else f"{kind}-{counts[kind]}", payload


def _kind(chunk_id: bytes, payload: bytes) -> str:
    if chunk_id == b"LIST":
        return payload[:4].decode("latin-1")
    return chunk_id.decode("latin-1").strip()


def streamed(
    old: Superseded,
    one: Renewed,
    scratch: ScratchFiles | None,
    progress: Progress,
) -> Streamed:
    """Return the master under its new header. Raises as `compressed.compress`."""
    path = one.path
    source = _made_from(old, one)
    if one.file.container.form != "FLAC" or scratch is None:
        write = _copier(old, one)
        return Streamed(path=path, octets=one.recipe.octets, write=write, source=source)
    target = scratch()
    octets = _compress(old, one, target, progress)
    write = compressed.copier(target)
    return Streamed(path=path, octets=octets, write=write, source=source)


def _made_from(old: Superseded, one: Renewed) -> str:
    """Return a digest of all that the master is made from; empty if no manifest tells it."""
    _, digest = strongest(old.listed.get(one.file.path, {}))
    whole = digest.encode() + repr(one.recipe).encode()
    return digests_of(whole, ("sha256",))["sha256"] if digest else ""


def _copier(
    old: Superseded, one: Renewed
) -> Callable[[Callable[[bytes | memoryview], object]], None]:
    def write(sink: Callable[[bytes | memoryview], object]) -> None:
        # The chunks that stay are proved first: in the copy they have no digest of their own.
        old.prove(one.file.path)
        with Hashing(["sha256"]) as essence:
            with old.bag.stream(one.file.path) as raw:
                embed.copy(
                    audio_in(raw, one.file.path).stream,
                    one.recipe,
                    sink,
                    essence=essence.update,
                    advance=lambda _octets: None,
                )
            _check(one, essence.hexdigests())

    return write


def _compress(old: Superseded, one: Renewed, target: BinaryIO, progress: Progress) -> int:
    old.prove(one.file.path)
    progress.begin(f"Compressing {one.file.path}", one.recipe.essence.octets)
    with Hashing(["sha256"]) as essence:
        with old.bag.stream(one.file.path) as raw:
            master = assembled.copied(audio_in(raw, one.file.path).stream, one.recipe)
            octets = flac_encode.encode(
                master,
                read_layout(master),
                target,
                essence=essence.update,
                advance=progress.advance,
            )
        _check(one, essence.hexdigests())
    return octets


def _check(one: Renewed, digests: Mapping[str, str]) -> None:
    stated = one.file.stated
    if stated is None or digests["sha256"] != stated.measured.essence_sha256:
        raise damaged(one.file.path)
