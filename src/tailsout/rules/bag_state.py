"""Malformed, incomplete, invalid, complete or valid: the words of RFC 8493 §3, kept apart.

The steps of §3 one after the other: every element is as the version asks (§3 item 5), nothing is
lacking (items 1 to 4), every checksum agrees. A bag is never called valid while a checksum of it
was not verified. What this program thinks of a bag is its verdict, which is another thing.
"""

from collections.abc import Iterable, Iterator, Sequence

from tailsout.ground.digests import ALGORITHMS
from tailsout.ground.findings import Finding, Kind
from tailsout.records.bag_state import BagState, BagWord, NotVerified, WhyNot
from tailsout.records.dossier import Dossier
from tailsout.records.facts import PackageFacts
from tailsout.rules import completeness, fixity
from tailsout.rules.structure import KIND_OF

_MOST_PATHS = 100


def _codes(words: Iterable[str], *kinds: Kind) -> frozenset[str]:
    return frozenset({*(KIND_OF[word].code for word in words), *(kind.code for kind in kinds)})


_MALFORMED = _codes(
    (
        "bagit-txt-malformed",
        "version-unknown",
        "encoding-not-allowed",
        "tag-file-undecodable",
        "bom",
        "manifest-line-malformed",
        "manifest-marker",
        "digest-malformed",
        "path-unsafe",
        "path-outside-payload",
        "listed-twice",
        "percent-raw",
        "link",
        "special-file",
        "fetch-line-malformed",
        "fetch-not-listed",
        "fetch-length-differs",
        "bag-info-malformed",
        "oxum-malformed",
        "oxum-repeated",
    ),
    completeness.MANIFEST_UNLISTED,
)
_INCOMPLETE = _codes(
    ("no-bagit-txt", "no-payload-directory", "no-payload-manifest", "to-be-fetched"),
    completeness.FILE_MISSING,
    completeness.FILE_UNLISTED,
    completeness.FILE_NOT_IN_EVERY,
)
_INVALID = _codes((), fixity.DIGEST_DIFFERS, completeness.OXUM_DIFFERS)
_LEFT_OPEN = _codes(
    (
        *("tag-file-too-large", "line-too-long", "too-deep", "too-many", "unreadable", "swapped"),
        *("archive-escape", "archive-link", "archive-special", "archive-twice"),
        *("archive-ambiguous", "archive-damaged", "archive-beyond-limits"),
        *("archive-overlap", "archive-method"),
    )
)
_LOWERS: frozenset[WhyNot] = frozenset({"no file read", "algorithm unknown", "file not read"})


def bag_state(dossier: Dossier, findings: Iterable[Finding]) -> BagState | None:
    """Say what a bag is, from what was found in it; None where there is no bag to speak of."""
    if dossier.package is None or "structure" not in dossier.examined:
        return None
    left = tuple(_not_verified(dossier, dossier.package))
    return BagState(word=_word({one.code for one in findings}, left), not_verified=left)


def _word(found: set[str], left: tuple[NotVerified, ...]) -> BagWord:
    steps: tuple[tuple[BagWord, bool], ...] = (
        ("malformed", not found.isdisjoint(_MALFORMED)),
        ("incomplete", not found.isdisjoint(_INCOMPLETE)),
        ("invalid", not found.isdisjoint(_INVALID)),
        ("not examined", not found.isdisjoint(_LEFT_OPEN)),
        ("complete, not verified", not _LOWERS.isdisjoint(one.why for one in left)),
    )
    return next((word for word, is_so in steps if is_so), "valid")


def _not_verified(dossier: Dossier, package: PackageFacts) -> Iterator[NotVerified]:
    listed = {line.path for manifest in package.manifests for line in manifest.lines}
    if "fixity" not in dossier.examined:
        count = sum(file.path in listed for file in package.files)
        yield NotVerified(why="no file read", count=count)
    yield from _some(
        "algorithm unknown",
        [one.name for one in package.manifests if one.algorithm not in ALGORITHMS],
    )
    yield from _some("file not read", [file.path for file in package.files if file.trouble])
    yield from _some("not looked at", [path or "." for path in package.unseen])
    yield from _some("left to be fetched", package.holes)
    yield from _some("in no tag manifest", completeness.tag_files_unlisted(package))


def _some(why: WhyNot, paths: Sequence[str]) -> Iterator[NotVerified]:
    if paths:
        yield NotVerified(why=why, count=len(paths), paths=tuple(paths[:_MOST_PATHS]))
