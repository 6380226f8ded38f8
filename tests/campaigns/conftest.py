"""Small plans, and builders so careless that each campaign must find them out."""

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from rig import Rig, Shape

from tailsout.bag.build import Built, build
from tailsout.bag.disk import Disk


@pytest.fixture
def make_rig(tmp_path: Path) -> Callable[..., Rig]:
    def make(shape: Shape = "small", **more: Any) -> Rig:
        root = tmp_path / "rig"
        root.mkdir()
        return Rig(root, shape, 7, **more)

    return make


@pytest.fixture
def out_in_the_open() -> Callable[..., Built]:
    """A builder that fills the final place file by file and asks nobody else."""

    def careless(plan: Any, parent: Path, **more: Any) -> Built:
        more["resume"] = False
        built = build(plan, parent / ".elsewhere", **{**more, "disk": Disk()})
        disk = more["disk"]
        disk.make_directory(parent / plan.name)
        for one in sorted(built.path.rglob("*")):
            target = parent / plan.name / one.relative_to(built.path)
            if one.is_dir():
                disk.make_directory(target)
            else:
                descriptor = disk.create(target)
                disk.write_all(descriptor, one.read_bytes())
                disk.close(descriptor)
        shutil.rmtree(parent / ".elsewhere")
        return built

    return careless
