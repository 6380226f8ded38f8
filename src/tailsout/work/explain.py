"""Every kind of finding that this program can make, by its code."""

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from tailsout.ground.errors import UsageError
from tailsout.ground.findings import Kind
from tailsout.ground.units import printable
from tailsout.mapping import (
    bagit_profile,
    chunks,
    embedded,
    embedded_texts,
    info,
    ixml,
    jottings,
    masters,
    sidecar,
    xml,
)
from tailsout.mapping.forms import form, recipients
from tailsout.rules import GROUPS, RULES, answers, batch
from tailsout.rules.rule import Rule
from tailsout.work import deep, descriptions, job, limited, opened, paths
from tailsout.work.amending import file_facts, leaks
from tailsout.work.gating import kinds as gating

_READERS: Mapping[str, tuple[Kind, ...]] = {
    "forms": (*form.KINDS, *recipients.KINDS, *job.KINDS, *jottings.KINDS, *paths.KINDS),
    "answers": answers.KINDS,
    "batch": batch.KINDS,
    "amending": (*file_facts.KINDS, *leaks.KINDS),
    "bag": (*bagit_profile.KINDS, *opened.KINDS, *descriptions.KINDS),
    "audio files": (*masters.KINDS, *limited.KINDS, *deep.KINDS, *ixml.KINDS, *xml.KINDS),
    "side-cars": sidecar.KINDS,
    "embedded metadata": (*embedded.KINDS, *embedded_texts.KINDS, *chunks.KINDS, *info.KINDS),
    "gates": gating.KINDS,
}
"""What is met before any rule runs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Explained:
    """A kind with all that is known of where it comes from."""

    kind: Kind
    group: str
    rules: tuple[Rule, ...]
    """That may yield it; none if it is met while reading."""
    is_answerable: bool


def kinds() -> Mapping[str, Kind]:
    """Return all kinds by code, sorted."""
    every = {
        *(kind for listed in _READERS.values() for kind in listed),
        *(kind for rule in RULES for kind in rule.kinds),
    }
    return {kind.code: kind for kind in sorted(every, key=lambda kind: kind.code)}


def kind_of(code: str) -> Kind:
    """Return one kind. Raises UsageError if there is none of that code."""
    found = kinds().get(code)
    if found is None:
        near = get_close_matches(code[:100], kinds(), n=1)
        meant = f" Did you mean {near[0]!r}?" if near else ""
        raise UsageError(
            f"There is no finding {printable(code)!r}.{meant}",
            "Run `tailsout explain` for the list.",
        )
    return found


def explained(code: str) -> Explained:
    """Return one kind and where it comes from. Raises UsageError if there is none of that code."""
    kind = kind_of(code)
    return Explained(
        kind=kind,
        group=next(name for name, listed in by_group().items() if kind in listed),
        rules=tuple(rule for rule in RULES if kind in rule.kinds),
        # What a gate asks is settled by filling in the form, and of a batch there is no form.
        is_answerable=answers.is_answerable(kind) and kind not in {*gating.KINDS, *batch.KINDS},
    )


def by_group() -> Mapping[str, tuple[Kind, ...]]:
    """Return all kinds by what they are about, each once, sorted by code within its group."""
    groups: dict[str, tuple[Kind, ...]] = {}
    told: set[Kind] = set()
    for name in dict.fromkeys((*GROUPS, *_READERS)):
        ruled = (kind for rule in GROUPS.get(name, ()) for kind in rule.kinds)
        listed = {*ruled, *_READERS.get(name, ())} - told
        told |= listed
        groups[name] = tuple(sorted(listed, key=lambda kind: kind.code))
    return groups
