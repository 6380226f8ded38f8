"""One package, five ways to hand it over, one judgement: folder, tar, tar.gz, tar.xz, zip."""

import gzip
import hashlib
import lzma
import shutil
import tarfile
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.findings import Finding
from tailsout.ground.progress import Silent
from tailsout.work.check import Checked, check

SAMPLES = sorted(
    path
    for path in (Path(__file__).resolve().parents[3] / "sample_packages").glob("*/*/package")
    if path.is_dir()
)


def as_tar(folder: Path, target: Path) -> None:
    with tarfile.open(target, "w", format=tarfile.GNU_FORMAT) as tar:
        tar.add(folder, folder.name)


def as_gz(folder: Path, target: Path) -> None:
    as_tar(folder, target)
    target.write_bytes(gzip.compress(target.read_bytes()))


def as_xz(folder: Path, target: Path) -> None:
    as_tar(folder, target)
    target.write_bytes(lzma.compress(target.read_bytes(), preset=0))


def as_zip(folder: Path, target: Path) -> None:
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as other:
        for path in sorted(folder.rglob("*")):
            other.write(path, Path(folder.name) / path.relative_to(folder))


WAYS: dict[str, Callable[[Path, Path], None]] = {
    "tar": as_tar,
    "tar.gz": as_gz,
    "tar.xz": as_xz,
    "zip": as_zip,
}


def told(checked: Checked) -> tuple[tuple[Finding, ...], Any, Any]:
    return checked.judgement.findings, checked.judgement.checks, checked.bag


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.parent.name)
def test_a_sample_is_judged_the_same_in_any_archive(sample: Path, tmp_path: Path) -> None:
    folder = tmp_path / "SKL-0008"
    shutil.copytree(sample, folder)
    wanted = told(check(folder, Silent()))
    for ending, make in WAYS.items():
        target = tmp_path / f"SKL-0008.{ending}"
        make(folder, target)
        digest = hashlib.sha512(target.read_bytes()).hexdigest()
        target.with_name(f"{target.name}.sha512").write_text(f"{digest}  {target.name}\n")
        assert told(check(target, Silent())) == wanted, ending


def test_there_are_samples() -> None:
    assert len(SAMPLES) > 10
