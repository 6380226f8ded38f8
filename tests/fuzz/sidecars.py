"""Mutates the side-cars of a package and holds everything that reads or describes it to promises.

    python tests/fuzz/sidecars.py --inputs 10000 --seed 1
    python tests/fuzz/sidecars.py --seconds 20
    python tests/fuzz/sidecars.py --seed 1 --only 4711

Input n of a seed is always the same package. Most of them still keep the schema, so that what is
strange reaches the rules and the views: each view must come out as what it claims to be. The first
broken promise stops it: `--only` leaves that package where it prints.
"""

import copy
import csv
import io
import json
import random
import runpy
import shutil
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import html5lib
import rounds
from lxml import etree
from rounds import promise

from tailsout.ground.progress import Silent
from tailsout.mapping import schemas
from tailsout.work import label, report
from tailsout.work.check import check
from tailsout.work.export import export_in
from tailsout.work.exports import VIEWS

TESTS = Path(__file__).parents[1]
remake: Any = SimpleNamespace(
    **runpy.run_path(str(TESTS / "samples" / "remake.py"), run_name="remake")
)
"""The script that seals the sample packages."""
PACKAGE = TESTS.parent / "sample_packages" / "good" / "skerrow-light" / "package"
SIDE_CARS = ("data/audio/skl8-side-a.json", "data/audio/skl8-side-b.json")
MOST_OCTETS = 3_000_000
WORDS = frozenset({"kept the schema", "broke the schema", "described"})
EVIL = "</script><script>alert(1)</script>&amp;\u202e]]>--><!--"
STRINGS = (
    *("", " ", "unknown", "withheld", "not applicable", "a", EVIL, "a\nb", "\x00", "\ufffe"),
    *("e\u0301", "🜁" * 300, "n" * 3000, "-", "=1+1", "'", '"', "../x", "A1", "s1"),
    *("1961~", "196X/..", "2026-03-14", "2026-03-14T10:00:00Z", "9999-12-31", "side-a", "\ud800"),
    *("data/audio/skl8-side-a.wav", "https://saltpan.example/x y", "isolde", "Saltpan Row"),
)
NUMBERS = (0, 1, -1, 2, 1e-9, 1e15, 2**53, 2**63, 0.5, 96000, 7.5, -60, 1e308)


@cache
def seed_cars() -> Mapping[str, str]:
    """The side-cars of the package, as text."""
    return {path: (PACKAGE / path).read_text(encoding="utf-8") for path in SIDE_CARS}


# Mutations


def draw(chance: random.Random) -> Mapping[str, Any]:
    """Make one input: the side-cars, changed alike in most cases."""
    cars = {path: json.loads(text) for path, text in seed_cars().items()}
    is_alike, state = chance.randrange(4) > 0, chance.randrange(2**32)
    for path in SIDE_CARS:
        within = random.Random(state if is_alike else f"{state}/{path}")
        for _ in range(within.choice((1, 1, 2, 4, 8))):
            before = copy.deepcopy(cars[path])
            _change(cars[path], within)
            if within.randrange(12) and schemas.faults(cars[path], "sidecar-0.1"):
                cars[path] = before
    return cars


def _change(document: dict[str, Any], chance: random.Random) -> None:
    # The history is told alike in every side-car of a package.
    part = document["transfer"] if chance.randrange(3) else document
    places = list(_places(part))
    holder, key = chance.choice(places)
    value = holder[key]
    match chance.randrange(6):
        case 0:
            del holder[key]
        case 1 if isinstance(value, list) and value:
            value.extend(copy.deepcopy(value) * chance.choice((1, 1, 3, 40)))
        case 2:
            other, its = chance.choice(places)
            holder[key] = copy.deepcopy(other[its])
        case 3:
            same = [other[its] for other, its in places if its == key]
            holder[key] = copy.deepcopy(chance.choice(same))
        case _ if isinstance(value, str):
            holder[key] = chance.choice(STRINGS)
        case _ if isinstance(value, int | float):
            holder[key] = chance.choice(NUMBERS)
        case _:
            holder[key] = chance.choice((None, [], {}, True, *STRINGS, *NUMBERS))


def _places(value: Any) -> Iterator[tuple[Any, Any]]:
    keys = list(value) if isinstance(value, dict) else range(len(value))
    for key in keys:
        yield value, key
        if isinstance(value[key], dict | list):
            yield from _places(value[key])


def input_of(seed: int, number: int) -> Mapping[str, Any]:
    """Return one input of a campaign."""
    return draw(rounds.chance(seed, number))


# What is promised of any side-car whatever


def judge_cars(cars: Mapping[str, Any], place: Path) -> Counter[str]:
    """Check and describe a package with these side-cars; return what it came to.

    Raises BrokenPromiseError, or whatever should not have been raised.
    """
    package = place / "SKL-0008"
    shutil.rmtree(package, ignore_errors=True)
    _laid_out(cars, package)
    faults = [one for car in cars.values() for one in schemas.faults(car, "sidecar-0.1")]
    checked = check(package, Silent())
    for found in checked.judgement.findings:
        shown = f"{found.text}{found.place}"
        promise(shown.isprintable(), "a finding can be printed")
    promise(not faults or checked.judgement.findings, "what breaks the schema is told")
    made = export_in(package, VIEWS, Silent())
    for view, one in zip(VIEWS, made, strict=True):
        _is_sound(view.name, one.content)
        promise(all(text.isprintable() for text in one.lost), "what is lost can be printed")
    # One of the others in turn: all of them would take as long again.
    turn = len(made[0].content)
    at = turn % len(VIEWS)
    again = export_in(package, VIEWS[at : at + 1], Silent())
    promise(made[at] == again[0], f"{VIEWS[at].name} is the same every time")
    match turn % 4:
        case 0:
            _is_sound("report", report.for_owner(package, Silent()))
        case 1:
            made_pdf = label.label(package, Silent(), form="pdf")
            promise(made_pdf.startswith(b"%PDF-"), "a label is a PDF")
        case 2:
            _is_sound("label", label.label(package, Silent(), spine=True))
    return Counter({"broke the schema" if faults else "kept the schema": 1, "described": 1})


def _laid_out(cars: Mapping[str, Any], package: Path) -> None:
    shutil.copytree(PACKAGE, package)
    for path, car in cars.items():
        (package / path).write_text(json.dumps(car), encoding="utf-8")
    remake.reseal(package, describing=False)


def _is_sound(name: str, content: bytes) -> None:
    promise(len(content) < MOST_OCTETS, f"{name} is bounded")
    try:
        READERS[name](content)
    except (ValueError, etree.XMLSyntaxError, html5lib.html5parser.ParseError) as error:
        promise(False, f"{name} can be read: {error}")


def _xml(content: bytes) -> None:
    etree.fromstring(content)


def _html(content: bytes) -> None:
    tree = html5lib.HTMLParser(strict=True).parse(content.decode("utf-8"))
    names = {one.tag for one in tree.iter() if isinstance(one.tag, str)}
    promise(not any(name.endswith("}script") for name in names), "a page runs nothing")


def _table(content: bytes) -> None:
    rows = list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline=""), strict=True))
    promise(len({len(row) for row in rows}) == 1, "every row of a table is as long")


READERS: Mapping[str, Callable[[bytes], object]] = {
    **dict.fromkeys(("PREMIS", "METS", "PBCore", "Dublin Core", "label"), _xml),
    **dict.fromkeys(("RO-Crate", "PROV-JSON"), json.loads),
    "inventory": _table,
    "report": _html,
}


# The campaign


def run(seed: int, *, inputs: int, seconds: float) -> rounds.Report:
    """Judge inputs until there were so many, or the time is up."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        return rounds.run(
            seed, input_of, lambda one: judge_cars(one, place), inputs=inputs, seconds=seconds
        )


def _show(seed: int, number: int) -> None:
    place = Path(tempfile.mkdtemp())
    print(place)
    print(dict(judge_cars(input_of(seed, number), place)))


if __name__ == "__main__":
    rounds.main("packages", run, _show, WORDS)
