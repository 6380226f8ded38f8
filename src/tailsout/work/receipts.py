"""Reads receipts and acceptances that lie beside a package or elsewhere, as events of it."""

import hashlib
from collections.abc import Iterator, Sequence
from pathlib import Path

from tailsout.bag.notes import DEFAULT_CAPS
from tailsout.bag.readable import ReadableBag
from tailsout.ground.digests import digests_of
from tailsout.ground.errors import MaterialError, UsageError, from_os_error
from tailsout.ground.units import printable
from tailsout.mapping import later_events as documents
from tailsout.mapping.strict_json import MAX_JSON_OCTETS
from tailsout.records.later_events import Afterwards


def afterwards(receipts: Sequence[Path], package: Path, bag: ReadableBag) -> tuple[Afterwards, ...]:
    """Return what each tells of the package, told twice or not.

    Raises UsageError if one is not there, MaterialError if it is of something else,
    SurroundingsError if it cannot be read.
    """
    known = frozenset(_digests(package, bag))
    found = (documents.read(_content(one), printable(one.name), known) for one in receipts)
    return tuple(dict.fromkeys(found))


def _digests(package: Path, bag: ReadableBag) -> Iterator[str]:
    """Yield the digests by which documents know a package: of an archive, its own too."""
    for manifest in bag.facts.manifests:
        if manifest.is_tag:
            content = bag.read(manifest.name, DEFAULT_CAPS.manifest_octets)
            yield from digests_of(content, ("sha256", "sha512")).values()
    if package.is_file():
        try:
            with package.open("rb") as stream:
                yield hashlib.file_digest(stream, "sha512").hexdigest()
        except OSError as error:
            raise from_os_error(error, f"Reading {printable(str(package))}") from error


def _content(path: Path) -> bytes:
    try:
        with path.open("rb") as stream:
            content = stream.read(MAX_JSON_OCTETS + 1)
    except FileNotFoundError as error:
        raise UsageError(f"There is no {printable(str(path))}.", "Name a receipt.") from error
    except OSError as error:
        raise from_os_error(error, f"Reading {printable(str(path))}") from error
    if len(content) > MAX_JSON_OCTETS:
        raise MaterialError(f"{printable(str(path))} is larger than {MAX_JSON_OCTETS} octets.")
    return content
