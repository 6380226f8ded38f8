"""Holds the file lists of foreign documents in a package against what is in its bag."""

import re
from collections.abc import Iterator, Mapping
from pathlib import Path

from tailsout.bag.tree import Tree
from tailsout.ground.errors import TailsoutError
from tailsout.ground.units import printable
from tailsout.mapping import foreign_lists
from tailsout.mapping.foreign_lists import FileClaim, ForeignList
from tailsout.records.facts import FoundFile, PackageFacts

_NAMED = re.compile(r"(premis|mets|pbcore)[^/]*\.xml$", re.IGNORECASE)
_MOST = 5
"""Documents of one package that are looked into."""


def compared(place: Path, package: PackageFacts) -> Iterator[str]:
    """Say of each document of another standard what it is, and whether its list agrees.

    `place` is where the package lies; of one in an archive they are only named.
    """
    paths = [file.path for file in package.files if _NAMED.search(file.path)][:_MOST]
    if not paths or not place.is_dir():
        yield from (f"it holds {printable(path, 200)}" for path in paths)
        return
    files = {file.path: file for file in package.files}
    try:
        tree = Tree(place)
    except OSError:
        # The judgement has told of it.
        return
    try:
        for path in paths:
            try:
                told = foreign_lists.read(tree.read(path, foreign_lists.MAX_OCTETS), path)
            except TailsoutError as error:
                told = ForeignList(standard="", trouble=error.sentence)
            yield f"it holds {printable(path, 200)}{_said(told, path, files)}"
    finally:
        tree.close()


def _said(told: ForeignList, document: str, files: Mapping[str, FoundFile]) -> str:
    if told.trouble:
        return f", which was not read: {printable(told.trouble, 200)}"
    if not told.standard:
        return ""
    if not told.files:
        return f" ({told.standard})"
    agree, open_, wrong = 0, 0, []
    for claim in told.files:
        file = _file(claim, document, files)
        if file is None:
            wrong.append(f"{printable(claim.name, 200)} is not in the bag")
            continue
        outcomes = {_agrees(file, *one) for one in claim.digests}
        if False in outcomes:
            wrong.append(f"the digest of {printable(file.path, 200)} differs")
        elif True in outcomes:
            agree += 1
        else:
            open_ += 1
    parts = [f"lists {len(told.files)} files", f"{agree} digests agree"]
    parts += [f"{open_} have none to compare"] if open_ else []
    parts += wrong[:3]
    parts += [f"and {len(wrong) - 3} more are otherwise"] if len(wrong) > 3 else []
    return f" ({told.standard}), which {', '.join(parts)}"


def _file(claim: FileClaim, document: str, files: Mapping[str, FoundFile]) -> FoundFile | None:
    """Find the file that is meant: by its path, beside the document, in the payload, by name."""
    folder = document.rpartition("/")[0]
    beside = f"{folder}/{claim.name}" if folder else claim.name
    for path in (claim.name, beside, f"data/{claim.name}"):
        if path in files:
            return files[path]
    ending = f"/{claim.name}"
    alike = [file for path, file in files.items() if path.endswith(ending)]
    return alike[0] if len(alike) == 1 else None


def _agrees(file: FoundFile, algorithm: str, digest: str) -> bool | None:
    """Tell whether a digest is that of the file; None if that one was not taken."""
    found = file.digests.get(algorithm)
    return None if found is None else found == digest
