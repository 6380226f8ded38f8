"""The package means something where this program is not: RFC 8493, FIPS 180-4, JSON Schema.

Everything here runs in an interpreter that cannot import tailsout.
"""

import subprocess
import sys
from pathlib import Path

import pytest

_NO_TAILSOUT = """
import sys
class Nothing:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] == "tailsout":
            raise ImportError(name)
sys.meta_path.insert(0, Nothing())
"""

_SCHEMA = (
    _NO_TAILSOUT
    + """
import json, pathlib, jsonschema
package = pathlib.Path(sys.argv[1])
(schema,) = package.glob("metadata/schemas/sidecar-*.json")
check = jsonschema.Draft202012Validator(json.loads(schema.read_text("utf-8")))
sidecars = sorted(package.glob("data/audio/*.json"))
for one in sidecars:
    document = json.loads(one.read_text("utf-8"))
    check.validate(document)
    document["transfer"]["reel"]["end_out_on_leaving"] = "middle"
    assert not check.is_valid(document)
print(len(sidecars))
"""
)

_FIELDS = (
    _NO_TAILSOUT
    + """
import json, pathlib, wavinfo
package = pathlib.Path(sys.argv[1])
for path in sorted(package.glob("data/audio/*.wav")):
    told = json.loads(path.with_suffix(".json").read_text("utf-8"))["this_file"]
    read = wavinfo.WavInfoReader(str(path))
    assert read.fmt.sample_rate == told["pcm"]["sample_rate_hz"]
    assert read.data.frame_count == told["measured"]["frames"]
    assert read.bext.version == 2
    assert round(read.bext.loudness_value * 100) == round(told["measured"]["integrated_lufs"] * 100)
    assert round(read.bext.max_true_peak * 100) == round(told["measured"]["true_peak_dbtp"] * 100)
    assert read.bext.originator_date == "2026-03-14"
    print(read.bext.coding_history.split(",")[0])
"""
)


def _run(code: str, package: Path) -> str:
    command = [sys.executable, "-W", "ignore", "-c", code, str(package)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.parametrize(
    ("program", "manifest"),
    [
        ("sha512sum", "manifest-sha512.txt"),
        ("sha512sum", "tagmanifest-sha512.txt"),
        ("sha256sum", "manifest-sha256.txt"),
        ("sha256sum", "tagmanifest-sha256.txt"),
        ("md5sum", "manifest-md5.txt"),
    ],
)
def test_checksum_programs_agree(package: Path, program: str, manifest: str) -> None:
    """GNU coreutils read our manifests as they stand (RFC 8493 §2.1.3)."""
    done = subprocess.run(
        [program, "--check", "--strict", manifest],
        cwd=package,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    lines = (package / manifest).read_text("utf-8").splitlines()
    assert done.stdout.count(": OK") == len(lines) > 3


def test_travelling_schema_judges_the_sidecars(package: Path) -> None:
    """The schema in the package works in a plain JSON Schema 2020-12 validator."""
    assert _run(_SCHEMA, package) == "2\n"


def test_header_and_sidecar_tell_the_same(package: Path) -> None:
    """`wavinfo` reads from the header what the side-car states (EBU Tech 3285 v2)."""
    assert _run(_FIELDS, package) == "A=ANALOGUE\nA=ANALOGUE\n"


def test_readme_names_every_kind_of_file(package: Path) -> None:
    page = (package / "metadata" / "README.txt").read_text("utf-8")
    for path in package.rglob("*"):
        if path.is_file():
            name = path.relative_to(package).as_posix()
            shown = name.replace("-sha512", "-*").replace("-sha256", "-*").replace("-md5", "-*")
            folder = f"{Path(name).parent.as_posix()}/"
            assert shown in page or folder in page, name
