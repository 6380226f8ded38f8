"""A package closed out by this code, once a worker, for others' programs to read."""

import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.progress import Silent
from tailsout.work.close_out import Surroundings
from tailsout.work.demo.run import run

INSTANT = datetime(2026, 3, 15, 8, 0, tzinfo=UTC)


@pytest.fixture(scope="session")
def around() -> Surroundings:
    return Surroundings(
        instant=INSTANT,
        software="tailsout test",
        seconds_now=time.time,
        disk=Disk(),
        progress=Silent(),
    )


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory, around: Surroundings) -> Path:
    """Return the folder of the demonstration: studio, job and packages."""
    folder = tmp_path_factory.mktemp("demo")
    assert run(folder, around).checked is not None
    return folder


@pytest.fixture(scope="session")
def package(demo: Path) -> Path:
    return demo / "packages" / "SKL-0007"
