"""Every kind of finding that this program can make, by its code."""

from collections.abc import Mapping

from tailsout.ground.errors import UsageError
from tailsout.ground.findings import Kind
from tailsout.mapping import (
    bagit_profile,
    chunks,
    embedded,
    info,
    ixml,
    jottings,
    masters,
    sidecar,
    xml,
)
from tailsout.mapping.forms import reading
from tailsout.rules import RULES, answers
from tailsout.work import deep, job, limited, opened
from tailsout.work.amending import following, leaks


def kinds() -> Mapping[str, Kind]:
    """Return all kinds by code, sorted."""
    every = {
        *reading.KINDS,
        *sidecar.KINDS,
        *embedded.KINDS,
        *bagit_profile.KINDS,
        *chunks.KINDS,
        *masters.KINDS,
        *info.KINDS,
        *answers.KINDS,
        *jottings.KINDS,
        *ixml.KINDS,
        *xml.KINDS,
        *job.KINDS,
        *following.KINDS,
        *leaks.KINDS,
        *deep.KINDS,
        *limited.KINDS,
        *opened.KINDS,
        *(kind for rule in RULES for kind in rule.kinds),
    }
    return {kind.code: kind for kind in sorted(every, key=lambda kind: kind.code)}


def kind_of(code: str) -> Kind:
    """Return one kind. Raises UsageError if there is none of that code."""
    found = kinds().get(code)
    if found is None:
        raise UsageError(f"There is no finding {code!r}.", "Run `tailsout explain` for the list.")
    return found
