"""Mutates archives of small bags and holds their readers to their promises.

    python tests/fuzz/archives.py --inputs 100000 --seed 1
    python tests/fuzz/archives.py --seconds 20
    python tests/fuzz/archives.py --seed 1 --only 4711

Input n of a seed is always the same octets. What is let pass as an archive must read the same to
Python's own tarfile and zipfile. The first broken promise stops it: `--only` shows that input
again.
"""

import gzip
import io
import lzma
import random
import tarfile
import tempfile
import warnings
import zipfile
import zlib
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import rounds
from rounds import promise

from tailsout.bag.archive import tar_write
from tailsout.bag.archive.limits import LIMITS
from tailsout.bag.archive.open import UNTOUCHABLE, ArchivedBag, open_archive
from tailsout.bag.names import unsafe
from tailsout.bag.prove import prove
from tailsout.ground.digests import digests_of
from tailsout.ground.errors import UsageError
from tailsout.ground.progress import Silent
from tailsout.records.dossier import Dossier
from tailsout.records.observations import OBSERVATIONS
from tailsout.rules import judge

SMALL = replace(
    LIMITS,
    members=30,
    header_octets=2000,
    path_octets=300,
    ratio_after=40_000,
    tail_octets=20_000,
    zip_directory_octets=4000,
    window_octets=64,
    kept_octets=20_000,
)
"""Small, so that every limit is met."""
WORDS = frozenset(word for word in OBSERVATIONS if word.startswith("archive-"))
LEAVING_OUT = UNTOUCHABLE | {"archive-damaged", "archive-beyond-limits", "archive-method"}
SAID_ALONE = {"archive-name-encoding", "archive-name-differs"}
"""What is said of an archive that others read the same all the same."""
AGREED, REFUSED = "read the same by others", "refused by others"
NAME = "SKL-0007"


# What is promised of any octets whatever


def judge_octets(data: bytes, place: Path) -> Counter[str]:
    """Read, prove and weigh an archive; return which observations were made, by word.

    Raises BrokenPromiseError, or whatever a reader should not have raised.
    """
    place.write_bytes(data)
    try:
        bag = open_archive(place, Silent(), limits=SMALL)
    except UsageError:
        return Counter({"no archive": 1})
    with bag:
        with open_archive(place, Silent(), limits=SMALL) as again:
            promise(again.facts == bag.facts, "a second look finds the same")
        _facts_are_sound(bag, len(data))
        facts, archive, others = bag.facts, bag.facts.archive, Counter[str]()
        if archive is not None and archive.whole:
            facts = prove(bag, spans={}, progress=Silent())
            read = _read_all(bag)
            kinds = {one.kind for one in facts.observations}
            if not (WORDS | {"too-deep"}) & kinds - SAID_ALONE:
                others = _others_agree(read, data, archive.form, kinds)
        dossier = Dossier(origin="received", package=facts, examined=frozenset({"structure"}))
        judgement = judge(dossier)
        promise(all(one.text.isprintable() for one in judgement.findings), "findings are printable")
    return Counter(one.kind for one in facts.observations) + others


def _facts_are_sound(bag: ArchivedBag, octets: int) -> None:
    facts, archive = bag.facts, bag.facts.archive
    kinds = {one.kind for one in facts.observations}
    paths = [file.path for file in facts.files]
    promise(archive is not None and archive.octets == octets, "the archive is as long as it is")
    promise(len(set(paths)) == len(paths), "no path comes twice")
    promise(not any(unsafe(path) for path in paths), "no path leads out")
    below = {path[:at] for path in paths for at, c in enumerate(path) if c == "/"}
    promise(below.isdisjoint(paths), "no file lies below a file")
    promise(len(paths) <= SMALL.members, "no more members than are taken")
    whole = archive is not None and archive.whole
    promise(whole or kinds & (LEAVING_OUT | {"too-many"}), "why it is not whole is told")
    if archive is not None and archive.whole and archive.form == "tar":
        promise(sum(file.octets for file in facts.files) <= octets, "windows lie in the file")


def _read_all(bag: ArchivedBag) -> Mapping[str, bytes]:
    read = {}
    for path in bag.order or [file.path for file in bag.facts.files]:
        with bag.stream(path) as stream:
            read[path] = stream.read()
    for file in bag.facts.files:
        promise(len(read[file.path]) == file.octets, "a file has the octets it is said to have")
    return read


def _others_agree(
    read: Mapping[str, bytes], data: bytes, form: str, told: Collection[str]
) -> Counter[str]:
    """Hold what was read against another reader; one that refuses it is counted."""
    try:
        theirs = dict(_by_zipfile(data) if form == "zip" else _by_tarfile(data))
    except (tarfile.TarError, zipfile.BadZipFile, NotImplementedError):
        return Counter({REFUSED: 1})
    if "archive-name-encoding" in told:
        # That a name may be read in another way was told; the octets are the same none the less.
        agrees = sorted(theirs.values()) == sorted(read.values())
    else:
        agrees = theirs == read
    promise(agrees, "Python's own reader finds the same")
    return Counter({AGREED: 1})


def _plain(name: str) -> str:
    return name.removeprefix("./").partition("/")[2]


def _by_tarfile(data: bytes) -> Iterator[tuple[str, bytes]]:
    with tarfile.open(fileobj=io.BytesIO(data), mode="r:*", errors="surrogateescape") as other:
        for member in other:
            if member.isreg():
                stream = other.extractfile(member)
                yield _plain(member.name), stream.read() if stream is not None else b""


def _by_zipfile(data: bytes) -> Iterator[tuple[str, bytes]]:
    with zipfile.ZipFile(io.BytesIO(data)) as other:
        for info in other.infolist():
            if not info.is_dir():
                yield _plain(info.filename), other.read(info)


# Seeds: small bags, as members


@dataclass(frozen=True, kw_only=True)
class Member:
    """One member to be."""

    path: str
    content: bytes = b""
    sort: str = "file"


def _bag() -> tuple[Member, ...]:
    payload = {"data/a.wav": b"RIFF" + bytes(200), "data/note.txt": b"tails out\n"}
    tags = {"bagit.txt": b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"}
    lines = (f"{digests_of(c, ('md5',))['md5']}  {n}\n" for n, c in payload.items())
    tags["manifest-md5.txt"] = "".join(lines).encode()
    files = (Member(path=f"{NAME}/{n}", content=c) for n, c in {**tags, **payload}.items())
    return (Member(path=f"{NAME}/data", sort="folder"), *files)


BAG = _bag()
ODD_PATHS = (
    *("../x", "/x", "x", f"{NAME}/../x", f"{NAME}/data/note.txt", f"{NAME}/DATA/x", "other/x"),
    *(f"{NAME}/data/note.txt/x", f"{NAME}/a\\b", f"{NAME}/\u00e4", f"{NAME}/{'n' * 120}"),
    *(f"{NAME}/{'d/' * 80}x", f"./{NAME}/x", f"{NAME}/a\u0308", f"{NAME}/\udc84", f"{NAME}/x/"),
)


def _tar(members: tuple[Member, ...]) -> bytes:
    made = b""
    for one in members:
        if one.sort == "folder":
            made += tar_write.entry(one.path, None, 0)
        else:
            made += tar_write.entry(one.path, len(one.content), 0)
            made += tar_write.filled(one.content)
    return made + tar_write.end(len(made))


def _zip(members: tuple[Member, ...], method: int) -> bytes:
    target = io.BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(target, "w", method) as other:
        # It warns of a name that comes twice, which is wanted here.
        warnings.simplefilter("ignore")
        for one in members:
            path = one.path.encode("utf-8", "replace").decode()
            info = zipfile.ZipInfo(path + "/" * (one.sort == "folder"))
            info.compress_type = method
            other.writestr(info, one.content)
    return target.getvalue()


FORMS: Mapping[str, Callable[[tuple[Member, ...]], bytes]] = {
    "tar": _tar,
    "tar.gz": lambda members: gzip.compress(_tar(members), 1, mtime=0),
    "tar.xz": lambda members: lzma.compress(_tar(members), preset=0),
    "stored": lambda members: _zip(members, zipfile.ZIP_STORED),
    "deflated": lambda members: _zip(members, zipfile.ZIP_DEFLATED),
}


@cache
def seeds() -> Mapping[str, bytes]:
    return {form: make(BAG) for form, make in FORMS.items()}


# Mutations: of members, of fields, of octets


def draw(chance: random.Random) -> bytes:
    """Make one input."""
    form = chance.choice((*("tar",) * 4, *("stored", "deflated") * 2, "tar.gz", "tar.xz"))
    octets = seeds()[form] if chance.randrange(3) else FORMS[form](_members(chance))
    if form == "tar" and chance.randrange(2):
        octets = _bent_tar(octets, chance)
    if form in {"stored", "deflated"} and chance.randrange(2):
        octets = _bent_zip(octets, chance)
    if form in {"tar.gz", "tar.xz"} and chance.randrange(2):
        inner = _spoilt(_tar(_members(chance)), chance)
        octets = gzip.compress(inner, 1, mtime=0) if form == "tar.gz" else lzma.compress(inner)
    for _ in range(chance.choice((0, 0, 1, 1, 2, 4))):
        octets = _spoilt(octets, chance)
    if chance.randrange(10) == 0:
        octets = octets[: chance.randrange(len(octets) + 1)]
    return octets


def _members(chance: random.Random) -> tuple[Member, ...]:
    members = list(BAG)
    for _ in range(chance.randrange(4)):
        which = chance.randrange(len(members))
        match chance.randrange(6):
            case 0:
                del members[which]
            case 1:
                members.insert(which, chance.choice(members))
            case 2:
                chance.shuffle(members)
            case 3:
                content = bytes(chance.choice((0, 1, 511, 512, 513, 60_000)))
                members[which] = replace(members[which], content=content, sort="file")
            case _:
                path = chance.choice(ODD_PATHS)
                members.insert(which, Member(path=path, content=b"x"))
        if not members:
            break
    return tuple(members) * (5 if chance.randrange(20) == 0 else 1)


FIELDS = ((0, 100), (124, 12), (136, 12), (156, 1), (157, 100), (257, 8), (345, 155))
"""Name, size, time, type, link, magic and prefix of a header."""
FLAGS = b"\x00123456789xgLKSMDNVX"
SIZES = (
    b"\xff" * 12,
    b"\x80" + bytes(10) + b"\x07",
    b"77777777777\0",
    b"00000000000\0",
    b" 12 \0\0",
)


def _bent_tar(octets: bytes, chance: random.Random) -> bytes:
    """Change a field of a header and put its checksum right."""
    blocks = len(octets) // 512
    start = 512 * chance.randrange(max(1, blocks))
    block = bytearray(octets[start : start + 512])
    if len(block) < 512:
        return octets
    at, width = chance.choice(FIELDS)
    if at == 156:
        block[at] = chance.choice(FLAGS)
    elif at == 124:
        block[at : at + width] = chance.choice(SIZES).ljust(width, b"\0")
    else:
        block[at + chance.randrange(width)] = chance.randrange(256)
    block[148:156] = b" " * 8
    block[148:156] = b"%06o\0 " % sum(block)
    return octets[:start] + bytes(block) + octets[start + 512 :]


def _bent_zip(octets: bytes, chance: random.Random) -> bytes:
    """Change a field of a member in its local header and in the directory alike."""
    entries = [at for at in range(len(octets)) if octets[at : at + 4] == b"PK\1\2"]
    if not entries:
        return octets
    bent = bytearray(octets)
    central = chance.choice(entries)
    local = int.from_bytes(bent[central + 42 : central + 46], "little")
    match chance.randrange(5):
        case 0:
            flags = 1 << chance.randrange(16)
            for at in (central + 8, local + 6):
                bent[at : at + 2] = flags.to_bytes(2, "little")
        case 1:
            for at in (central + 10, local + 8):
                bent[at : at + 2] = chance.choice((0, 8, 9, 12, 99)).to_bytes(2, "little")
        case 2:
            for at in (central + 46, local + 30):
                bent[at + chance.randrange(20)] = chance.randrange(256)
        case 3:
            other = chance.choice(entries)
            bent[central + 42 : central + 46] = bent[other + 42 : other + 46]
        case _:
            for start in (central + 46, local + 30):
                at = start + 9
                bent[at : at + 1] = b"\x84"
    return bytes(bent)


def _spoilt(octets: bytes, chance: random.Random) -> bytes:  # noqa: PLR0911  one a case
    """Change a few octets: a bit, a number, a stretch."""
    at = chance.randrange(len(octets) + 1)
    match chance.randrange(7):
        case 0:
            bent = bytes(octet ^ 1 << chance.randrange(8) for octet in octets[at : at + 1])
            return octets[:at] + bent + octets[at + 1 :]
        case 1:
            width = chance.choice((1, 2, 4, 8))
            figure = chance.choice((0, 1, 0xFF, 0xFFFF, 2**31, 2**32 - 1, len(octets)))
            number = (figure % (1 << 8 * width)).to_bytes(width, "little")
            return octets[:at] + number + octets[at + width :]
        case 2:
            return octets[:at] + octets[at + chance.choice((1, 7, 512, 1024)) :]
        case 3:
            return octets[:at] + chance.randbytes(chance.randrange(1, 30)) + octets[at:]
        case 4:
            start = at - at % 512
            return octets[: start + 512 * chance.randrange(1, 4)] + octets[start:]
        case 5:
            found = max(0, octets.find(chance.choice((b"PK\1\2", b"PK\3\4", b"PK\5\6"))))
            place = found + chance.randrange(4, 46)
            return octets[:place] + bytes([chance.randrange(256)]) + octets[place + 1 :]
        case _:
            return octets + chance.choice((b"x", bytes(512), octets, zlib.compress(b"x")))


def input_of(seed: int, number: int) -> bytes:
    """Return one input of a campaign."""
    return draw(rounds.chance(seed, number))


# The campaign


def run(seed: int, *, inputs: int, seconds: float) -> rounds.Report:
    """Judge inputs until there were so many, or the time is up."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / NAME
        return rounds.run(
            seed, input_of, lambda one: judge_octets(one, place), inputs=inputs, seconds=seconds
        )


def _show(seed: int, number: int) -> None:
    place = Path(tempfile.mkdtemp()) / NAME
    print(place)
    print(dict(judge_octets(input_of(seed, number), place)))


def _agreement(report: rounds.Report) -> str:
    return f"let pass, and {AGREED}: {report.met[AGREED]}; {REFUSED}: {report.met[REFUSED]}"


if __name__ == "__main__":
    rounds.main("archives", run, _show, WORDS, _agreement)
