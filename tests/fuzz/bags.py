"""Mutates the tag files and names of small bags and holds their reader to its promises.

    python tests/fuzz/bags.py --inputs 100000 --seed 1
    python tests/fuzz/bags.py --seconds 20
    python tests/fuzz/bags.py --seed 1 --only 4711

Input n of a seed is always the same bag. A bag is a table of names and octets and never touches a
disk. The first broken promise stops it: `--only` shows that input again.
"""

import random
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import replace

import rounds
from rounds import promise

from tailsout.bag.facts import read_facts
from tailsout.bag.names import unsafe
from tailsout.bag.notes import Caps, Notes
from tailsout.bag.tree import Met
from tailsout.ground.digests import ALGORITHMS, digests_of
from tailsout.ground.errors import MaterialError
from tailsout.records.dossier import Dossier
from tailsout.records.facts import PackageFacts
from tailsout.records.observations import OBSERVATIONS
from tailsout.rules import judge
from tailsout.rules.bag_state import bag_state

Bag = Mapping[str, bytes]
ON_DISK_ALONE = {"link", "special-file", "hard-link", "empty-directory", "swapped", "unreadable"}
"""What a bag in memory cannot have."""
CAPS = Caps(
    entries=40,
    depth=6,
    manifest_octets=4000,
    tag_octets=3000,
    line=900,
    manifests=8,
    all_manifests_octets=9000,
    manifest_lines=60,
)
"""Small, so that every limit is met."""


class Below:
    """A bag in memory, as its reader sees one."""

    def __init__(self, bag: Bag) -> None:
        self._bag = bag

    def walk(self, caps: Caps) -> Iterator[Met]:
        folders = {path[:at] for path in self._bag for at, c in enumerate(path) if c == "/"}
        for path in sorted(folders):
            yield Met(path=path, sort="directory", entries=1)
        for count, (path, content) in enumerate(sorted(self._bag.items())):
            if count >= caps.entries:
                yield Met(path="", sort="too many")
                return
            if path.count("/") >= caps.depth:
                yield Met(path=path.rpartition("/")[0], sort="too deep")
            else:
                yield Met(path=path, sort="file", octets=len(content))

    def read(self, path: str, cap: int) -> bytes:
        promise(path in self._bag, "nothing is read but what was met")
        promise("/" not in path, "nothing is read for its structure but at the top")
        if len(self._bag[path]) > cap:
            raise MaterialError(f"{path!r} is larger than {cap} octets.")
        return self._bag[path]


# What is promised of any bag whatever


def judge_bag(bag: Bag, origin: Bag) -> Counter[str]:
    """Read, prove and weigh a bag that was made from a good one; return what was met, by word.

    Raises BrokenPromiseError, or whatever the reader should not have raised.
    """
    facts = read_facts(Below(bag), "reel", CAPS, Notes())
    promise(facts == read_facts(Below(bag), "reel", CAPS, Notes()), "a second reading is the same")
    _facts_are_sound(facts, bag)
    wanted = {m.algorithm for m in facts.manifests if m.algorithm in ALGORITHMS}
    files = tuple(replace(f, digests=digests_of(bag[f.path], sorted(wanted))) for f in facts.files)
    dossier = Dossier(
        origin="received",
        package=replace(facts, files=files),
        examined=frozenset({"structure", "fixity", *({"manifests"} if facts.manifests else ())}),
    )
    judgement = judge(dossier)
    shown = [(str(one.place), one.text) for one in judgement.findings]
    promise(all(f"{a}{b}".isprintable() for a, b in shown), "findings can be printed")
    state = bag_state(dossier, judgement.findings)
    promise(state is not None, "a bag has a state")
    if state is not None and state.word == "valid":
        _nothing_went_unseen(bag, origin)
    word = {state.word: 1} if state is not None else {}
    return Counter([one.kind for one in facts.observations]) + Counter(word)


def _nothing_went_unseen(bag: Bag, origin: Bag) -> None:
    """Where the tag manifests are still the good ones, a valid bag holds what it held."""
    tags = [path for path in origin if not path.startswith("data/")]
    if any(bag.get(path) != origin[path] for path in tags if path.startswith("tagmanifest-")):
        return
    promise(all(bag.get(path) == origin[path] for path in tags), "no tag file changed unseen")
    held = Counter(content for path, content in bag.items() if path.startswith("data/"))
    held_before = Counter(content for path, content in origin.items() if path.startswith("data/"))
    promise(held == held_before, "no payload file changed unseen")


def _facts_are_sound(facts: PackageFacts, bag: Bag) -> None:
    for one in facts.observations:
        promise(one.kind in OBSERVATIONS, f"{one.kind} is declared")
        promise(one.text.isprintable(), f"{one.kind} can be printed")
        promise(one.text.endswith("."), f"{one.kind} is told in a sentence")
        promise(one.line is None or one.line >= 1, f"{one.kind} has a line")
    promise(max(Counter(o.kind for o in facts.observations).values(), default=0) <= 101, "few")
    for manifest in facts.manifests:
        most = bag[manifest.name].count(b"\n") + bag[manifest.name].count(b"\r") + 1
        numbers = [line.line for line in manifest.lines]
        promise(numbers == sorted(set(numbers)), "lines come in order, each once")
        promise(not numbers or numbers[-1] <= most, "there are no more lines than line ends")
        for line in manifest.lines:
            promise(line.path in bag or not unsafe(line.path), f"{line.path!r} is safe")
            promise(not line.path.startswith("/"), "no path is absolute")
            promise(".." not in line.path.split("/"), "no path leads up")
    promise({f.path for f in facts.files} <= set(bag), "no file is made up")
    promise(not {*facts.holes} & {f.path for f in facts.files}, "a hole is not a file")
    for info in facts.bag_info:
        promise(":" not in info.label and info.label == info.label.strip(" \t"), "labels are clean")


# Seeds


def _sealed(payload: Bag, tags: Bag, algorithms: tuple[str, ...], codec: str) -> Bag:
    files = dict(tags)
    for kind, of in (("manifest", payload), ("tagmanifest", files)):
        made = {}
        for algorithm in algorithms:
            lines = [f"{digests_of(c, [algorithm])[algorithm]}  {p}\n" for p, c in of.items()]
            made[f"{kind}-{algorithm}.txt"] = "".join(lines).encode(codec)
        files |= made
    return {**payload, **files}


def _seed(
    version: str, encoding: str, codec: str, algorithms: tuple[str, ...], *, fetch: bool
) -> Bag:
    payload = {"data/reel.wav": b"RIFF", "data/a b/\u00e4.txt": b"", "data/c": b"tails out\n"}
    octets = sum(map(len, payload.values()))
    info = (
        "Source-Organization: Saltpan Row\n"
        "External-Description: one\n  two\n\tthree\n"
        f"Bagging-Date: 2026-03-14\nPayload-Oxum: {octets}.{len(payload)}\n"
    )
    lines = f"BagIt-Version: {version}\nTag-File-Character-Encoding: {encoding}\n"
    tags = {"bagit.txt": lines.encode(), "bag-info.txt": info.encode(codec)}
    if fetch:
        tags["fetch.txt"] = "https://h.example/c 10 data/c\n".encode(codec)
    return _sealed(payload, tags, algorithms, codec)


SEEDS: tuple[Bag, ...] = (
    _seed("1.0", "UTF-8", "utf-8", ("sha256", "sha512"), fetch=False),
    _seed("1.0", "UTF-8", "utf-8", ("sha512",), fetch=True),
    _seed("0.97", "ISO-8859-1", "latin-1", ("md5",), fetch=True),
    _seed("1.0", "UTF-16", "utf-16", ("sha256",), fetch=False),
)

# Mutations

LINES = (
    b"",
    b" ",
    b"\t",
    b":",
    b"%",
    b"%0A",
    b"%25",
    b"%2e",
    b"\0",
    b"\x0b",
    b"\x85",
    b"\xe2\x80\xa8",
    b"\xef\xbb\xbf",
    b"\xff\xfe",
    b"..",
    b"../",
    b"/",
    b"\\",
    b"~",
    b"*",
    b"./",
    b"data/",
    b"data/c",
    b"C:",
    b"\r",
    b"\n",
    b"\r\n",
    b"Payload-Oxum: 1.1",
    b"Payload-Oxum",
    b"BagIt-Version: 1.0",
    b"UTF-16",
    b"UTF-7",
    b"0.97",
    b"99.0",
    b"https://user:secret@h/ 1 data/c",
    b"http://[::1/ - data/c",
    b"9" * 50,
    b"x" * 1000,
    b"\n" * 200,
    b"1 of 2",
    "data/a\u0308".encode(),
    "\u202e".encode(),
    b"tagmanifest-sha256.txt",
    b"0" * 64 + b"  data/c\n",
)
NAMES = (
    "data/x",
    "data/%25",
    "data/a\u0308",
    "data/\u00e4",
    "data/A B/x",
    "data/nul",
    "data/.x",
    "data/\udcff",
    "x",
    "data/a\nb",
    "manifest-crc.txt",
    "manifest-md5.txt",
    "tagmanifest-crc.txt",
    "manifest-.txt",
    "fetch.txt",
    "data/1/2/3/4/5/6/7",
    "bag-info.txt",
    "data/\u202e",
    "data/r\u0435el",
)


SPELLINGS = (
    ("data/c", "data/c%25"),
    ("data/c", "*data/c"),
    ("data/c", "./data/c"),
    ("data/a b/\u00e4.txt", "data/a b/a\u0308.txt"),
    ("data/c", "data/c "),
    ("data/c", "data/../c"),
)
"""What a name becomes, on disk and in most of the lists."""


def draw(chance: random.Random) -> tuple[Bag, Bag]:
    """Make one bag, and give the good one that it comes from."""
    origin = chance.choice(SEEDS)
    bag = dict(origin)
    for _ in range(chance.choice((1, 1, 1, 2, 3, 5))):
        _change(bag, chance)
    return bag, origin


def _change(bag: dict[str, bytes], chance: random.Random) -> None:
    paths = sorted(bag) or ["x"]
    path = chance.choice([path for path in paths if not path.startswith("data/")] or paths)
    match chance.randrange(12):
        case 0:
            bag[chance.choice(NAMES)] = bag.pop(path, b"")
        case 1:
            bag.pop(chance.choice(paths), None)
        case 2:
            bag[chance.choice(NAMES)] = chance.choice((b"", b"x", *bag.values()))
        case 3:
            bag |= {f"data/more/{number}": b"" for number in range(chance.choice((3, 60)))}
        case 4:
            _spell(bag, chance)
        case 5 if chance.randrange(9) == 0:
            for one in [one for one in paths if one.startswith("data/")]:
                bag.pop(one, None)
        case _:
            bag[path] = _spoilt(bag.get(path, b""), chance)


def _spell(bag: dict[str, bytes], chance: random.Random) -> None:
    """Spell one name otherwise on disk, in the lists, or in both."""
    old, new = chance.choice(SPELLINGS)
    if old in bag and chance.randrange(2):
        bag[new] = bag.pop(old)
    for one in [one for one in bag if not one.startswith("data/")]:
        if chance.randrange(3):
            bag[one] = bag[one].replace(old.encode(), new.encode())


def _spoilt(octets: bytes, chance: random.Random) -> bytes:
    at = chance.choice((0, chance.randrange(len(octets) + 1)))
    match chance.randrange(6):
        case 0 if octets:
            at = chance.randrange(len(octets))
            return octets[:at] + bytes([octets[at] ^ 1 << chance.randrange(8)]) + octets[at + 1 :]
        case 1:
            return octets[:at] + octets[at + chance.choice((1, 9, len(octets))) :]
        case 2:
            more = chance.randbytes(chance.randrange(1, 9)) * chance.choice((1, 1, 1, 900))
            return octets[:at] + more + octets[at:]
        case 3:
            lines = octets.splitlines(keepends=True)
            chance.shuffle(lines)
            return b"".join([*lines, *lines[: chance.randrange(2)]])
        case 4:
            return octets.replace(b"\n", chance.choice((b"\r", b"\r\n", b"\x0b", b"\n\n", b" \n")))
        case _:
            return octets[:at] + chance.choice(LINES) + octets[at + chance.randrange(3) :]


def input_of(seed: int, number: int) -> tuple[Bag, Bag]:
    """Return one input of a campaign."""
    return draw(rounds.chance(seed, number))


# The campaign


def run(seed: int, *, inputs: int, seconds: float) -> rounds.Report:
    """Judge inputs until there were so many, or the time is up."""
    return rounds.run(seed, input_of, lambda one: judge_bag(*one), inputs=inputs, seconds=seconds)


def _show(seed: int, number: int) -> None:
    bag, origin = input_of(seed, number)
    for path, content in bag.items():
        if origin.get(path) != content:
            print(f"{path!r}: {content!r}")
    print(dict(judge_bag(bag, origin)))


if __name__ == "__main__":
    words = {word for word in OBSERVATIONS if not word.startswith("archive-")} - ON_DISK_ALONE
    rounds.main("bags", run, _show, words)
