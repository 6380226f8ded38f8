"""Mutates wave files and holds every reader of them to its promises.

    python tests/fuzz/campaign.py --inputs 200000 --seed 1
    python tests/fuzz/campaign.py --seconds 20
    python tests/fuzz/campaign.py --seed 1 --only 4711

Input n of a seed is always the same octets. Told are how many inputs ran, the slowest of them, the
most memory, and which words for damage were met. The first broken promise stops it: `--only` shows
that input again.
"""

import io
import random
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from itertools import pairwise

import rounds
from rounds import promise

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.records.dossier import Dossier
from tailsout.rules import judge
from tailsout.rules.damage import KIND_OF
from tailsout.wave import (
    adtl,
    bext,
    cart,
    chna,
    cset,
    cue,
    embed,
    fact,
    flac_encode,
    history,
    info,
    levl,
    lists,
    umid,
    xmlchunks,
)
from tailsout.wave.flac import is_flac
from tailsout.wave.riff import Chunk, Layout, read_chunk, read_layout
from tailsout.work.survey import survey

PATH = "data/audio/reel.wav"
PAYLOAD_OCTETS = 1 << 17
"""Most octets of a payload that a decoder is given."""
COPY_OCTETS = 1 << 18
"""Files up to this size are copied through as well."""
OVERSIZE_IN = 400
"""One input in so many is made of a great many chunks."""


# What is promised of any octets whatever


def judge_octets(data: bytes) -> Counter[str]:
    """Read, weigh and copy a file; return which damage was met, by word.

    Raises BrokenPromiseError, or whatever a reader should not have raised.
    """
    stream = io.BytesIO(data)
    layout = read_layout(stream)
    promise(layout == read_layout(stream), "a second walk finds the same")
    _chunks_are_sound(layout, data)
    seen = survey(stream, PATH)
    damage = seen.record.container.damage
    decoded = [one for chunk in layout.chunks[:200] for one in _decoded(stream, chunk)]
    met = (*damage, *decoded)
    # What stands inside FLAC is placed in the wave file that it stands for.
    inside = seen.layout.file_octets if is_flac(stream) else 0
    _damage_is_sound(met, max(len(data), inside))
    dossier = Dossier(origin="closing", files=(seen.record,), examined=frozenset({"headers"}))
    judgement = judge(dossier)
    promise(len(judgement.findings) >= len({*damage}), "every fault is a finding")
    promise(all(one.text.isprintable() for one in judgement.findings), "findings can be printed")
    if len(data) <= COPY_OCTETS:
        _copy_is_sound(layout, data)
    return Counter(one.kind for one in met)


def _chunks_are_sound(layout: Layout, data: bytes) -> None:
    told = {one.kind for one in layout.damage}
    promise(layout.file_octets == len(data), "the file is as long as it is")
    for chunk in layout.chunks:
        promise(12 <= chunk.header_offset == chunk.offset - 8 < len(data), "chunks lie inside")
        is_whole = chunk.offset + chunk.octets <= len(data)
        promise(is_whole or told & {"truncated", "never-finished"}, "a cut chunk is told")
    for one, following in pairwise(layout.chunks):
        end = one.offset + one.octets + one.pad
        promise(following.header_offset == end, "one chunk follows the other")
    promise(0 <= layout.data_octets <= len(data), "no more audio than there is")
    if layout.data is not None:
        promise(layout.data.offset + layout.data_octets <= len(data), "the audio lies inside")
        promise(layout.data_octets <= layout.data.octets, "no more audio than is declared")
    if layout.pcm is not None:
        promise(layout.frames * layout.pcm.frame_octets <= layout.data_octets, "frames are whole")


def _damage_is_sound(damage: Iterable[Damage], octets: int) -> None:
    for one in damage:
        promise(one.kind in KIND_OF, f"{one.kind} is weighed")
        promise(one.text.endswith("."), f"{one.kind} is told in a sentence")
        promise(one.text.isprintable(), f"{one.kind} can be printed")
        # A ds64 that should be there has a place even where the file ends before it.
        promise(0 <= one.offset <= max(octets, 20), f"{one.kind} is placed inside the file")


def _copy_is_sound(layout: Layout, data: bytes) -> None:
    """Copy through: refused, or sound and with the same audio."""
    try:
        recipe = embed.plan(layout, bext=BEXT)
    except MaterialError:
        return
    target, heard = bytearray(), bytearray()
    embed.copy(
        io.BytesIO(data),
        recipe,
        target.extend,
        essence=heard.extend,
        advance=lambda _: None,
    )
    audio = layout.data
    promise(audio is not None, "what is copied has audio")
    if audio is not None:
        promise(heard == data[audio.offset : audio.offset + audio.octets], "the audio is the same")
    copied = read_layout(io.BytesIO(target))
    promise(len(target) == recipe.octets, "a copy is as long as planned")
    promise((copied.frames, copied.pcm) == (layout.frames, layout.pcm), "a copy reads the same")
    kept = {"id-case", "incomplete-frame"}
    left = {one.kind for one in copied.damage if not one.kind.startswith("fmt-")}
    promise(left <= kept, f"a copy is sound, but for {left}")


Decode = Callable[[bytes, int], Sequence[Damage]]


def _list(payload: bytes, offset: int) -> Sequence[Damage]:
    return (
        *lists.parts(payload, offset=offset)[2],
        *info.decode(payload, offset=offset)[1],
        *adtl.decode(payload, offset=offset, numbers=(1, 2))[1],
    )


def _history(payload: bytes, offset: int) -> Sequence[Damage]:
    found, damage = bext.decode(payload, offset=offset)
    history.parse(found.coding_history if found else "")
    return damage


DECODERS: Mapping[bytes, Decode] = {
    b"bext": _history,
    b"LIST": _list,
    b"list": _list,
    b"cue ": lambda payload, offset: cue.decode(payload, offset=offset, frames=8)[1],
    b"fact": lambda payload, offset: fact.decode(payload, offset=offset, frames=8)[1],
    b"CSET": lambda payload, offset: cset.decode(payload, offset=offset)[1],
    b"chna": lambda payload, offset: chna.decode(payload, offset=offset)[1],
    b"levl": lambda payload, offset: levl.decode(payload, offset=offset)[1],
    b"cart": lambda payload, offset: cart.decode(payload, offset=offset)[1],
    b"umid": lambda payload, offset: umid.decode(payload, offset=offset)[1],
    b"iXML": lambda payload, offset: xmlchunks.content(payload, len(payload), offset=offset)[1],
    b"axml": lambda payload, offset: xmlchunks.content(payload, len(payload), offset=offset)[1],
}
"""What is in a chunk, whether or not the rest of the file would have it read."""


def _decoded(stream: io.BytesIO, chunk: Chunk) -> Sequence[Damage]:
    if chunk.id not in DECODERS:
        return ()
    return DECODERS[chunk.id](read_chunk(stream, chunk, PAYLOAD_OCTETS), chunk.offset)


# Seeds: sound files, taken apart


@dataclass(frozen=True, kw_only=True)
class Piece:
    """One chunk of a file to be; what is None comes out right."""

    id: bytes
    payload: bytes
    stated: int | None = None
    pad: bytes | None = None

    def octets(self) -> bytes:
        stated = len(self.payload) if self.stated is None else self.stated % 2**32
        pad = b"\0" * (len(self.payload) % 2) if self.pad is None else self.pad
        return self.id + stated.to_bytes(4, "little") + self.payload + pad


@dataclass(frozen=True, kw_only=True)
class Draft:
    """A file to be."""

    form: bytes = b"RIFF"
    pieces: tuple[Piece, ...] = ()
    stated: int | None = None
    tail: bytes = field(default=b"")

    def octets(self) -> bytes:
        body = b"WAVE" + b"".join(piece.octets() for piece in self.pieces)
        unstated = 0xFFFF_FFFF if self.form != b"RIFF" else len(body)
        stated = unstated if self.stated is None else self.stated % 2**32
        return self.form + stated.to_bytes(4, "little") + body + self.tail


BEXT = bext.encode(
    bext.Bext(
        description="SKL-0007; side A",
        originator="Saltpan Row",
        origination_date="2026-03-14",
        origination_time="10:21:07",
        umid=umid.basic(bytes(range(16))),
        coding_history="A=ANALOGUE,M=mono,T=deck; 19.05 cm/s\r\nA=PCM,F=48000,W=24,M=mono\r\n",
    )
)


def _number(figure: int, octets: int = 4) -> bytes:
    return figure.to_bytes(octets, "little")


def _sub(chunk_id: bytes, payload: bytes) -> bytes:
    return Piece(id=chunk_id, payload=payload).octets()


_PCM = Piece(id=b"fmt ", payload=bytes.fromhex("0100 0100 80BB0000 80320200 0300 1800"))
_EXTENSIBLE = Piece(
    id=b"fmt ",
    payload=bytes.fromhex(
        "FEFF 0200 80BB0000 00650400 0600 1800 1600 1400 03000000"
        "01000000 0000 1000 8000 00AA00389B71"
    ),
)
_DATA = Piece(id=b"data", payload=bytes(range(24)))
_OPEN_DATA = replace(_DATA, stated=0xFFFF_FFFF)
_OWN = Piece(id=b"bext", payload=BEXT)
_INFO = Piece(
    id=b"LIST",
    payload=b"INFO" + _sub(b"INAM", b"Side A\0") + _sub(b"ICMT", b"slack wound\0"),
)
_MARKS = (
    Piece(
        id=b"cue ",
        payload=_number(2)
        + b"".join(
            _number(n) + _number(n) + b"data" + _number(0) + _number(0) + _number(3 * n)
            for n in (1, 2)
        ),
    ),
    Piece(
        id=b"LIST",
        payload=b"adtl"
        + _sub(b"labl", _number(1) + b"splice\0")
        + _sub(b"note", _number(2) + b"hum\0")
        + _sub(b"ltxt", _number(2) + _number(2) + b"rgn " + bytes(8) + b"hum"),
    ),
)
_OTHERS = (
    Piece(id=b"fact", payload=_number(8)),
    Piece(id=b"CSET", payload=bytes.fromhex("E404 0100 0900 0100")),
    Piece(id=b"chna", payload=_number(1, 2) * 2 + _number(1, 2) + b"ATU_00000001" + bytes(26)),
    Piece(id=b"iXML", payload=b'<?xml version="1.0"?><BWFXML><TAPE>SKL-0007</TAPE></BWFXML>'),
    Piece(id=b"axml", payload=b"<ebuCoreMain/>"),
    Piece(id=b"levl", payload=_number(0) + _number(2) + bytes(120)),
    Piece(id=b"umid", payload=umid.basic(bytes(16)) + bytes(32)),
    Piece(id=b"cart", payload=b"0101" + bytes(2044)),
    Piece(id=b"id3 ", payload=b"ID3\4\0\0\0\0\0\0"),
    Piece(id=b"JUNK", payload=bytes(28)),
)


def _ds64(data: int, table: bytes, *pieces: Piece) -> Piece:
    whole = 4 + 8 + 28 + len(table) + sum(len(piece.octets()) for piece in pieces)
    figures = (whole, data, data // 3)
    payload = b"".join(_number(one, 8) for one in figures)
    return Piece(id=b"ds64", payload=payload + _number(len(table) // 12) + table)


def _in_64_bits(form: bytes, table: bytes, *pieces: Piece) -> Draft:
    return Draft(form=form, pieces=(_ds64(24, table, *pieces), *pieces))


_HUGE = replace(_OTHERS[4], stated=0xFFFF_FFFF)
_ROW = b"axml" + _number(len(_HUGE.payload), 8)

SEEDS: tuple[Draft, ...] = (
    Draft(pieces=(_PCM, _DATA)),
    Draft(pieces=(_OWN, _PCM, _DATA, _INFO)),
    Draft(pieces=(_OTHERS[-1], _OWN, _EXTENSIBLE, *_OTHERS[:2], _DATA, *_MARKS, _INFO)),
    Draft(pieces=(_PCM, *_OTHERS, _DATA, *_MARKS)),
    _in_64_bits(b"RF64", b"", _OWN, _PCM, _OPEN_DATA, *_MARKS),
    _in_64_bits(b"RF64", _ROW, _PCM, _OPEN_DATA, _HUGE, _INFO),
    _in_64_bits(b"BW64", _ROW + b"iXML" + bytes(8), _PCM, _HUGE, _OPEN_DATA),
)

# Mutations: of the structure where that is possible, of octets everywhere

IDS = (*DECODERS, b"data", b"fmt ", b"ds64", b"JUNK", b"BEXT", b"DATA", b"\0\0\0\0", b"fmt\0")
SIZES = (0, 1, 2, 3, 8, 601, 602, 2**16, 2**31 - 1, 2**31, 2**32 - 2, 2**32 - 1)
WIDTHS = (1, 2, 4, 8)


def draw(chance: random.Random) -> bytes:
    """Make one input."""
    if chance.randrange(OVERSIZE_IN) == 0:
        return _crowded(chance)
    if chance.randrange(12) == 0:
        octets = chance.choice(_flac_seeds())
        for _ in range(chance.randrange(6)):
            octets = _spoilt(octets, chance)
        return octets[: chance.randrange(len(octets) + 1)] if chance.randrange(8) == 0 else octets
    if chance.randrange(20) == 0:
        head = chance.choice((b"", b"RIFF\x40\0\0\0WAVE", b"RF64\xff\xff\xff\xffWAVEds64"))
        return head + chance.randbytes(chance.randrange(400))
    draft = chance.choice(SEEDS)
    for _ in range(chance.randrange(5)):
        draft = _mutated(draft, chance)
    octets = draft.octets()
    for _ in range(chance.choice((0, 0, 0, 1, 1, 3))):
        octets = _spoilt(octets, chance)
    if chance.randrange(8) == 0:
        octets = octets[: chance.randrange(len(octets) + 1)]
    return octets


@cache
def _flac_seeds() -> tuple[bytes, ...]:
    """Those seeds as FLAC that it can keep all of."""
    made = []
    for draft in SEEDS[:4]:
        source, target = io.BytesIO(draft.octets()), io.BytesIO()
        layout = read_layout(source)
        flac_encode.encode(source, layout, target, essence=lambda _: None, advance=lambda _: None)
        made.append(target.getvalue())
    return tuple(made)


def _crowded(chance: random.Random) -> bytes:
    """A file of a great many chunks or sub-chunks."""
    count = chance.choice((9_999, 10_000, 10_001, 40_000))
    empty = chance.choice((b"JUNK", b"bext", b"fmt ", b"LIST")) + bytes(4)
    if chance.randrange(2):
        inside = Piece(id=b"LIST", payload=chance.choice((b"INFO", b"adtl")) + empty * count)
        return Draft(pieces=(inside, _PCM, _DATA)).octets()
    return Draft(pieces=(_PCM, _DATA), tail=empty * count, stated=60 + 8 * count).octets()


def _mutated(draft: Draft, chance: random.Random) -> Draft:
    """Change the form, or the order of its chunks, or one of them."""
    pieces = list(draft.pieces)
    which = chance.randrange(len(pieces)) if pieces else 0
    match chance.randrange(10):
        case 0:
            return replace(draft, stated=_size(chance, len(draft.octets())))
        case 1:
            return replace(draft, form=chance.choice((b"RIFF", b"RF64", b"BW64", b"RIFX")))
        case 2:
            more = chance.choice((b"", bytes(7), chance.randbytes(40), SEEDS[0].octets()))
            return replace(draft, tail=more)
        case 3:
            del pieces[which : which + 1]
        case 4:
            pieces.insert(which, chance.choice(chance.choice(SEEDS).pieces))
        case 5:
            chance.shuffle(pieces)
        case _:
            pieces[which : which + 1] = [_bent(one, chance) for one in pieces[which : which + 1]]
    return replace(draft, pieces=tuple(pieces))


def _bent(piece: Piece, chance: random.Random) -> Piece:
    match chance.randrange(4):
        case 0:
            return replace(piece, id=chance.choice(IDS))
        case 1:
            return replace(piece, stated=_size(chance, len(piece.payload)))
        case 2:
            return replace(piece, pad=chance.choice((b"", b"\0", b"x", b"\0\0")))
        case _:
            payload = piece.payload
            for _ in range(chance.randrange(1, 4)):
                payload = _spoilt(payload, chance)
            return replace(piece, payload=payload)


def _size(chance: random.Random, true: int) -> int:
    return chance.choice((true + chance.randint(-12, 12), chance.choice(SIZES)))


def _spoilt(octets: bytes, chance: random.Random) -> bytes:
    """Change a few octets: a bit, a number, a stretch."""
    at = chance.randrange(len(octets) + 1)
    match chance.randrange(6):
        case 0 if octets:
            at = chance.randrange(len(octets))
            return octets[:at] + bytes([octets[at] ^ 1 << chance.randrange(8)]) + octets[at + 1 :]
        case 1:
            width = chance.choice(WIDTHS)
            figure = _size(chance, len(octets)) % 256**width
            return octets[:at] + _number(figure, width) + octets[at + width :]
        case 2:
            return octets[:at] + octets[at + chance.randrange(1, 30) :]
        case 3:
            return octets[:at] + chance.randbytes(chance.randrange(1, 30)) + octets[at:]
        case 4:
            stretch = octets[at : at + chance.randrange(1, 60)]
            return octets[:at] + stretch + octets[at:]
        case _:
            filler = chance.choice((b"\0", b"\xff", b" ", b"\r\n"))
            return octets[:at] + filler * chance.randrange(1, 20) + octets[at + 8 :]


def input_of(seed: int, number: int) -> bytes:
    """Return one input of a campaign."""
    return draw(rounds.chance(seed, number))


# The campaign


def run(seed: int, *, inputs: int, seconds: float) -> rounds.Report:
    """Judge inputs until there were so many, or the time is up."""
    return rounds.run(seed, input_of, judge_octets, inputs=inputs, seconds=seconds)


def _show(seed: int, number: int) -> None:
    data = input_of(seed, number)
    print(data.hex(" ", 4))
    print(dict(judge_octets(data)))


if __name__ == "__main__":
    rounds.main("wave files", run, _show, KIND_OF)
