"""What the checks came to when a package was made, as its own file tells."""

import pytest

from tailsout.ground.findings import Severity, Verdict
from tailsout.mapping import checks


def test_verdict_and_findings_are_read() -> None:
    content = b'{"verdict": "pass", "findings": [{"code": "x", "severity": "note", "more": 1}]}'
    assert checks.read(content) == (Verdict.PASS, (("x", Severity.NOTE),))


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"[]",
        b"{}",
        b'{"verdict": "pass"}',
        b'{"verdict": "lovely", "findings": []}',
        b'{"verdict": "pass", "findings": [{"code": "x", "severity": "grave"}]}',
        b'{"verdict": "pass", "findings": [3]}',
        b'{"verdict": ["pass"], "findings": []}',
        b'{"verdict": "pass", "findings": 3}',
        b'{"verdict": "pass", "verdict": "pass", "findings": []}',
        b"\xff",
    ],
)
def test_a_file_that_is_not_ours_tells_nothing(content: bytes) -> None:
    assert checks.read(content) is None
