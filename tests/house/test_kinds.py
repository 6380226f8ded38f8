"""Every kind of finding: declared once, used, reasoned, and seen in a test or a kept package."""

import ast
import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import ModuleType

import pytest

from tailsout.ground.findings import Kind
from tailsout.records.observations import OBSERVATIONS
from tailsout.rules import RULES, damage
from tailsout.rules.structure import KIND_OF
from tailsout.work.explain import kinds

CODE = re.compile(r"[a-z0-9]+(-[a-z0-9]+)+")

OWN_GROUND = ("own rule: ", "our limit: ", "the environment: ", "common practice, no source: ")
WITHOUT_CLAUSES = (
    "TOML 1.0.0",
    "JSON Schema",
    "EBU R 98-1999: ",
    "POSIX.1-2017 pax",
    "BagIt Profiles 1.4: ",
)
"""Documents short enough, or of our own, to be named as a whole."""
DOCUMENT = re.compile(
    r"(RFC [0-9]{4}|APPNOTE 6[.]3|"
    r"EBU Tech [0-9]{4}( v[0-9])?|ITU-R BS[.][0-9]+-[0-9]|RIFF 1991|Unicode TR [0-9]+"
    r"|XML 1[.]0)[ ;]"
)
CLAUSE = re.compile(r"§ ?[0-9]|ch\. ?[0-9]|Annex [0-9]")

TREATMENT = re.compile(
    r"\b(bak(e|ed|ing)|re-?play(ed|ing)?|solvents?|treat(ed|ing|ment)?)\b", re.IGNORECASE
)

SPELLED_OTHERWISE = frozenset({"bext-date", "bext-time", "truncated"})
"""Put together from a field's name, or one word without a hyphen."""
NO_DAMAGE = frozenset({"dual-mono", "joint-stereo", "latin-1", "utf-8", "yyyy-mm-dd"})
"""Words of that shape in `wave` that name something else."""


def basis_is_sound(basis: str) -> bool:
    if basis.startswith((*OWN_GROUND, *WITHOUT_CLAUSES)):
        return True
    return bool(DOCUMENT.match(basis) and CLAUSE.search(basis))


def hyphened(trees: Mapping[str, ast.Module], room: str) -> set[str]:
    """Every quoted word of the shape of a code in one room."""
    return {
        node.value
        for path, tree in trees.items()
        for node in ast.walk(tree)
        if path.startswith(f"{room}/") and isinstance(node, ast.Constant)
        if isinstance(node.value, str) and CODE.fullmatch(node.value)
    }


def declared(modules: tuple[ModuleType, ...]) -> Iterator[tuple[str, str, Kind]]:
    for module in modules:
        for name, value in vars(module).items():
            if isinstance(value, Kind):
                yield module.__name__, name, value


def test_every_kind_declared_is_one_that_explain_knows(modules: tuple[ModuleType, ...]) -> None:
    known = {*kinds().values()}
    assert [(place, name) for place, name, kind in declared(modules) if kind not in known] == []
    assert {*KIND_OF.values()} <= known


def test_every_kind_named_is_used_by_a_function(
    modules: tuple[ModuleType, ...], trees: Mapping[str, ast.Module]
) -> None:
    used = {
        node.id
        for tree in trees.values()
        for function in ast.walk(tree)
        if isinstance(function, ast.FunctionDef)
        for node in ast.walk(function)
        if isinstance(node, ast.Name)
    }
    # Those of a side-car's reader are spoken for by a rule as a whole.
    assert [name for _, name, _ in declared(modules) if name not in used] == []


def test_codes_are_unique_and_well_formed(modules: tuple[ModuleType, ...]) -> None:
    listed = {*KIND_OF.values(), *damage.KIND_OF.values()}
    every = {kind for _, _, kind in declared(modules)} | listed
    codes = sorted(kind.code for kind in every)
    assert len(codes) == len(set(codes)) == len(kinds())
    assert [code for code in codes if not CODE.fullmatch(code)] == []


@pytest.mark.parametrize("kind", kinds().values(), ids=lambda kind: kind.code)
def test_a_kind_says_what_it_rests_on_and_who_decides(kind: Kind) -> None:
    assert basis_is_sound(kind.basis)
    assert kind.title
    assert not kind.title.endswith(".")
    assert kind.remedy.endswith(".")
    assert not TREATMENT.search(kind.remedy)


@pytest.mark.parametrize(
    ("basis", "sound"),
    [
        ("RFC 8493 §3: every file is listed", True),
        ("RFC 8493: every file is listed", False),
        ("RIFF 1991 ch. 2; EBU Tech 3285 v2", True),
        ("XML 1.0 §2.1", True),
        ("XML 1.0, all of it", False),
        ("common practice, no source: it is done so", True),
        ("common practice", False),
        ("", False),
        ("everybody knows §3", False),
    ],
)
def test_what_counts_as_a_basis(basis: str, *, sound: bool) -> None:
    assert basis_is_sound(basis) is sound


def test_what_counts_as_advice_to_treat() -> None:
    for advice in ("Bake it again.", "Another baking.", "Re-play it.", "Replay it.", "A solvent."):
        assert TREATMENT.search(advice)
    for none in ("Ask the sender again.", "The player was in use.", "It displays a name."):
        assert not TREATMENT.search(none)


def test_every_code_is_seen_in_a_test_or_a_kept_package(root: Path) -> None:
    tests = " ".join(
        path.read_text("utf-8")
        for path in sorted((root / "tests").rglob("test_*.py"))
        if path != Path(__file__)
    )
    seen = set(re.findall(r"[\"']([a-z0-9-]+)[\"']", tests))
    for path in (root / "sample_packages").rglob("expected.json"):
        seen |= {one["code"] for one in json.loads(path.read_bytes())["findings"]}
    assert sorted(set(kinds()) - seen) == []


# Readers' words


def test_every_observation_has_a_kind_and_every_kind_an_observation() -> None:
    assert set(KIND_OF) == set(OBSERVATIONS)
    for word, kind in KIND_OF.items():
        assert (kind.code, kind.basis) == (f"bag-{word}", OBSERVATIONS[word])


def test_every_observation_is_made_by_the_reader(trees: Mapping[str, ast.Module]) -> None:
    words = {
        node.value
        for path, tree in trees.items()
        for node in ast.walk(tree)
        if path.startswith("bag/") and isinstance(node, ast.Constant)
    }
    assert sorted(set(OBSERVATIONS) - words) == []


def test_every_damage_is_placed(trees: Mapping[str, ast.Module]) -> None:
    words = (hyphened(trees, "wave") | SPELLED_OTHERWISE) - NO_DAMAGE
    assert words == set(damage.KIND_OF)


def test_every_rule_has_a_name_of_its_own_and_kinds() -> None:
    names = [rule.name for rule in RULES]
    assert len(names) == len(set(names))
    assert all(rule.kinds and rule.needs for rule in RULES)
