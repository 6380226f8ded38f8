"""What remakes the kept packages, for tests that break one in a way not worth keeping."""

import runpy
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).resolve().parent
KEPT = HERE.parents[1] / "sample_packages"


@pytest.fixture(scope="session")
def seal() -> Callable[..., None]:
    """Make Payload-Oxum and all manifests of a package anew."""
    found: Any = runpy.run_path(str(HERE / "remake.py"), run_name="remake")["reseal"]
    sealing: Callable[..., None] = found
    return sealing


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    """Copy a good package that is kept."""
    return shutil.copytree(KEPT / "good" / "skerrow-light" / "package", tmp_path / "package")
