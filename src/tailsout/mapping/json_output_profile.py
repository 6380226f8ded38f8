"""What `profile --json` says: one line for two versions of a form, one for each package."""

from collections.abc import Iterable
from typing import Any

from tailsout.ground.findings import Finding, Verdict
from tailsout.ground.units import printable
from tailsout.mapping.plain import plain
from tailsout.mapping.schemas import urn
from tailsout.records.recipient import Recipient
from tailsout.records.recipient_changes import Change

PROFILE = urn("profile-0.1")


def forms(
    old: Recipient | None,
    new: Recipient | None,
    changes: Iterable[Change],
    faults: Iterable[Finding],
    software: str,
) -> dict[str, Any]:
    """Return what is said of the forms."""
    versions = {"old_version": old, "new_version": new}
    one = new or old
    return {
        "schema": PROFILE,
        "software": software,
        **({"recipient": one.id} if one is not None else {}),
        **{
            key: printable(form.version or "") for key, form in versions.items() if form is not None
        },
        "changes": [plain(change) for change in changes],
        "faults": [_finding(one) for one in faults],
    }


def package(
    path: str,
    *,
    verdict: Verdict,
    made_by: str,
    appear: Iterable[Finding],
    disappear: Iterable[Finding],
) -> dict[str, Any]:
    """Return what is said of a package that was judged by both forms."""
    return {
        "schema": PROFILE,
        "path": printable(path),
        "verdict": verdict.value,
        **({"made_by": printable(made_by)} if made_by else {}),
        "appear": [_finding(one) for one in appear],
        "disappear": [_finding(one) for one in disappear],
    }


def passed_over(path: str, why: str) -> dict[str, Any]:
    """Return what is said of a package that is for somebody else."""
    return {"schema": PROFILE, "path": printable(path), "passed_over": printable(why)}


def _finding(one: Finding) -> dict[str, Any]:
    return {
        "code": one.code,
        "severity": one.severity.value,
        "place": printable(str(one.place)),
        "text": printable(one.text),
        "needs_reel": one.kind.needs_reel,
    }
