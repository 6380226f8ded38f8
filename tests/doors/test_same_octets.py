"""One job gives the same octets wherever, whenever and under whatever settings it is closed."""

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Cli = Callable[..., Any]

EPOCH = "1773561600"
CODE = """
import os, sys
os.umask(int(sys.argv[1], 8))
from tailsout.doors.cli import run
sys.exit(run(["close", sys.argv[2], "-o", sys.argv[3]]))
"""


@pytest.fixture
def job(bench: Any) -> Any:
    bench.put("captures/ä.wav", bench.wave(own=bench.own_bext()))
    bench.put("captures/b.wav", bench.wave(rf64=True))
    bench.put("images/Größe ½.jpg", b"\xff\xd8")
    bench.put("images/.DS_Store", b"x")
    (bench.job / "jottings.txt").write_text("2026-03-14T10:00:00Z [p] ½\n", "utf-8")
    bench.form(
        {"a": "captures/ä.wav", "b": "captures/b.wav"},
        top='recipient = "archive"\nnote = "ÄÖÜ – ½"',
        more='[[reel.images]]\nfile = "images/Größe ½.jpg"\nrole = "box"\n'
        '[[passes]]\nid = "p"\nmachine = "left"\non = 2026-03-14T10:00:00+02:00',
    )
    return bench


@pytest.fixture
def packed(cli: Cli, job: Any, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], Any]:
    """Close the job here, at one instant, and return all that was written."""

    def pack(epoch: str) -> Any:
        monkeypatch.setenv("SOURCE_DATE_EPOCH", epoch)
        assert cli("close", job.job, "-o", job.root / epoch).code == 0
        return job.tree(job.root / epoch)

    return pack


@pytest.mark.parametrize(
    ("umask", "setting"),
    [
        ("077", {"TZ": "Pacific/Auckland", "LC_ALL": "C.UTF-8", "PYTHONHASHSEED": "1"}),
        (
            "000",
            {
                "TZ": "America/St_Johns",
                "LC_ALL": "POSIX",
                "LANG": "tr_TR.UTF-8",
                "PYTHONHASHSEED": "424242",
                # File names are then octets that Python cannot read.
                "PYTHONUTF8": "0",
                "PYTHONCOERCECLOCALE": "0",
            },
        ),
    ],
    ids=["elsewhere", "without a locale"],
)
def test_settings_of_the_system_leave_no_trace(
    process: Cli, job: Any, packed: Callable[[str], Any], umask: str, setting: dict[str, str]
) -> None:
    here = packed(EPOCH)
    place: Path = job.root / "other place"
    place.mkdir()
    shutil.copytree(job.studio, place / "studio")
    shutil.copytree(job.job, place / "other job")
    ran = process(
        umask,
        "other job",
        place / "out",
        code=CODE,
        cwd=place,
        SOURCE_DATE_EPOCH=EPOCH,
        **setting,
    )
    assert ran.code == 0, ran.out + ran.err
    there = job.tree(place / "out")
    assert len(there) > 15
    assert "TT-1.receipt.json" in there
    assert there == here


def test_another_instant_is_written_down(packed: Callable[[str], Any]) -> None:
    """So that the test above can fail."""
    one, two = packed(EPOCH), packed("1773648000")
    assert [name for name in sorted(one) if one[name] != two[name]] == [
        "TT-1.label.svg",
        "TT-1.receipt.json",
        "TT-1/bag-info.txt",
        "TT-1/data/audio/b.json",
        "TT-1/data/audio/ä.json",
        "TT-1/manifest-md5.txt",
        "TT-1/manifest-sha256.txt",
        "TT-1/manifest-sha512.txt",
        "TT-1/metadata/mets.xml",
        "TT-1/metadata/premis.xml",
        "TT-1/metadata/report.html",
        "TT-1/tagmanifest-md5.txt",
        "TT-1/tagmanifest-sha256.txt",
        "TT-1/tagmanifest-sha512.txt",
    ]
