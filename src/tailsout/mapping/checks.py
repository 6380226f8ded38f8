"""metadata/checks.json, what the checks came to when a package was made: JSON octets → words."""

from tailsout.ground.findings import Severity, Verdict
from tailsout.mapping import strict_json

Told = tuple[Verdict, tuple[tuple[str, Severity], ...]]
"""The verdict, and code and weight of each finding."""


def read(content: bytes) -> Told | None:
    """Read the file; None if it is not one of ours."""
    try:
        told = strict_json.load(content)
        found = tuple((str(one["code"]), Severity(one["severity"])) for one in told["findings"])
        return Verdict(told["verdict"]), found
    except (strict_json.StrictJsonError, KeyError, TypeError, ValueError):
        return None
