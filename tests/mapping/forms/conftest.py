"""A studio and a job as people write them, and the road from there to a Transfer."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest

from tailsout.ground.findings import Finding, Place
from tailsout.mapping.forms.job_forms import JobForms, read_job
from tailsout.mapping.forms.transfer import transfer_of
from tailsout.records.transfer import Transfer

JOB_ID = "5f0c7a52-3f5e-4c0e-9a53-6d1f5f3b2c07"
HEAD = f'job_id = "{JOB_ID}"\npackage_id = "SKL-0007"\n'


@dataclass(frozen=True, slots=True, kw_only=True)
class Stated:
    """What became of a job's forms."""

    transfer: Transfer | None
    findings: tuple[Finding, ...]
    places: Mapping[str, Place]

    @property
    def said(self) -> list[tuple[str, str]]:
        """Place and text of every finding."""
        return [(str(finding.place), finding.text) for finding in self.findings]

    @property
    def lines(self) -> list[tuple[int | None, str]]:
        """Line and key of every finding, in order of line."""
        found = [(finding.place.line, finding.place.part) for finding in self.findings]
        return sorted(found, key=lambda one: (one[0] or 0, one[1]))


class Desk:
    """`studio/` and `studio/job/`, so that the job finds its studio above it."""

    head = HEAD
    job_id = JOB_ID

    def __init__(self, root: Path) -> None:
        self.studio = root / "studio"
        self.job = self.studio / "job"
        self.job.mkdir(parents=True)
        self.write("studio.toml", 'name = "Saltpan Row"\n')
        self.write("machines/mk3.toml", 'id = "mk3"\nmaker = "Tidewright"\n')

    def write(self, name: str, content: str | bytes) -> None:
        path = self.studio / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode())

    def read(
        self, job: str | bytes, *, head: bool = True
    ) -> tuple[JobForms | None, tuple[Finding, ...]]:
        """Read all forms; the job's two needed keys stand on lines 1 and 2."""
        text = HEAD + job if head and isinstance(job, str) else job
        self.write("job/job.toml", text)
        return read_job(self.job)

    def data(self, job: str) -> dict[str, object]:
        forms, findings = self.read(job)
        assert findings == ()
        assert forms is not None
        return forms.job.data

    def state(
        self,
        job: str | bytes,
        *,
        rates: Mapping[str, int] | None = None,
        head: bool = True,
        present: frozenset[str] = frozenset(),
        beside: Mapping[str, frozenset[str]] | None = None,
    ) -> Stated:
        forms, findings = self.read(job, head=head)
        if forms is None:
            return Stated(transfer=None, findings=findings, places={})
        transfer, findings, places = transfer_of(forms, rates or {}, present, beside)
        return Stated(transfer=transfer, findings=findings, places=places)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(tmp_path)
