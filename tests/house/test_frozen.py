"""A schema that a tagged release has named is never changed again."""

from hashlib import sha256
from pathlib import Path

import pytest

SCHEMAS = Path(__file__).resolve().parents[2] / "schemas"


def broken(folder: Path) -> list[str]:
    """Return what the list in FROZEN says and the folder does not hold."""
    wrong = []
    for line in (folder / "FROZEN").read_text("utf-8").splitlines():
        if line and not line.startswith("#"):
            digest, name = line.split("  ")
            path = folder / name
            if not path.is_file() or sha256(path.read_bytes()).hexdigest() != digest:
                wrong.append(name)
    return wrong


def test_tagged_schemas_are_unchanged() -> None:
    assert broken(SCHEMAS) == []


@pytest.mark.parametrize("content", [b"{}", b"{} ", None])
def test_a_changed_or_lost_schema_is_seen(tmp_path: Path, content: bytes | None) -> None:
    listed = f"# tagged\n{sha256(b'{}').hexdigest()}  x-1.0.schema.json\n"
    (tmp_path / "FROZEN").write_text(listed, "utf-8")
    if content is not None:
        (tmp_path / "x-1.0.schema.json").write_bytes(content)
    assert broken(tmp_path) == ([] if content == b"{}" else ["x-1.0.schema.json"])
