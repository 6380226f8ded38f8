"""The version that an amendment supersedes: opened, found to be sound, carried over, only read.

Its files are held against its manifests as they are carried over, by the digests that are taken
of them anyway; what was not what it should be stops the building.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from tailsout.bag.grammar import MANIFEST_NAME
from tailsout.bag.notes import Caps
from tailsout.bag.plan import Streamed, Written
from tailsout.bag.readable import ReadableBag
from tailsout.ground.digests import ALGORITHMS, BLOCK_OCTETS, Hashing
from tailsout.ground.errors import MaterialError, from_os_error
from tailsout.ground.findings import Finding, Verdict
from tailsout.ground.units import printable
from tailsout.mapping import naming, sidecar
from tailsout.mapping.strict_json import MAX_JSON_OCTETS
from tailsout.records.amendment import Amendment
from tailsout.records.dossier import Dossier
from tailsout.records.transfer import SideCar
from tailsout.rules import RULES, amendments, judge, sidecars
from tailsout.work.package import read_package

_STOPPING = frozenset({Verdict.FAIL, Verdict.REFUSED, Verdict.NOT_EXAMINED})
_AT_THE_ROOT = frozenset({"bagit.txt", "bag-info.txt", "fetch.txt"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Superseded:
    """A version that stands, held open for reading."""

    bag: ReadableBag
    dossier: Dossier
    record_only: tuple[str, SideCar] | None
    """Path and content of the one side-car of a reel that was not played."""
    pinned: Mapping[str, str]
    """SHA-512 of every manifest and tag manifest by an algorithm that is known, by its name."""
    listed: Mapping[str, Mapping[str, str]]
    """What the manifests say of each file: digest by algorithm, lower case."""
    octets: Mapping[str, int]
    """Of every file, by its path; in the order of paths."""
    _owed: dict[str, Mapping[str, str]] = field(default_factory=dict)
    """The digests that what was carried over must have, by its path in the new version."""

    @property
    def is_ours(self) -> bool:
        """Whether it has side-cars of ours, so that statements can be changed."""
        return self.dossier.transfer is not None

    @property
    def amendments(self) -> tuple[Amendment, ...]:
        """What was corrected before."""
        return self.dossier.amendments or ()

    @property
    def version(self) -> int:
        """Its number."""
        return self.amendments[-1].version if self.amendments else 1

    @property
    def first_name(self) -> str:
        """What the package was called as first closed."""
        if self.dossier.transfer is not None:
            return self.dossier.transfer.package_id
        name = self.bag.facts.name
        return name.removesuffix(f".v{self.version}") if self.version > 1 else name

    @property
    def name(self) -> str:
        """What this version is called, whatever its folder is called now."""
        return naming.version_name(self.first_name, self.version)

    @property
    def algorithms(self) -> tuple[str, ...]:
        """Those of its manifests that digests can be taken by."""
        found = {one.algorithm for one in self.bag.facts.manifests}
        return tuple(sorted(one for one in found if one in ALGORITHMS))

    def carried(self, path: str, to: str | None = None) -> Streamed:
        """Carry one file over octet for octet, to another place if one is named."""
        target = to or path
        owed = dict(self.listed.get(path, {}))
        if path in self.pinned:
            owed.setdefault("sha512", self.pinned[path])
        self._owed[target] = owed
        return Streamed(
            path=target,
            octets=self.octets[path],
            write=self._copier(path),
            source=strongest(owed)[1],
        )

    def verify(self, written: Mapping[str, Written]) -> None:
        """Hold what has been carried over so far against the manifests. Raises MaterialError."""
        for path, owed in self._owed.items():
            if path not in written:
                continue
            for algorithm, digest in owed.items():
                if written[path].digests.get(algorithm, digest) != digest:
                    raise damaged(path)

    def _copier(self, path: str) -> Callable[[Callable[[bytes], object]], None]:
        def write(sink: Callable[[bytes], object]) -> None:
            try:
                with self.bag.stream(path) as stream:
                    while block := stream.read(BLOCK_OCTETS):
                        sink(block)
            except OSError as error:
                raise from_os_error(error, f"Reading {printable(path)}") from error

        return write

    def prove(self, path: str) -> None:
        """Read a file through for what its manifests say of it, before its header is renewed.

        Raises MaterialError if it is not what they say.
        """
        algorithm, digest = strongest(self.listed.get(path, {}))
        if algorithm:
            with Hashing([algorithm]) as hashing:
                self._copier(path)(hashing.update)
                if hashing.hexdigests()[algorithm] != digest:
                    raise damaged(path)


def strongest(digests: Mapping[str, str]) -> tuple[str, str]:
    """Return the longest of some digests with its algorithm; two empty texts if there is none."""
    algorithm = max(digests, key=lambda one: ALGORITHMS[one], default="")
    return algorithm, digests.get(algorithm, "")


def damaged(path: str) -> MaterialError:
    """Return the error for a file that is not what it was when its package was made."""
    return MaterialError(
        f"{printable(path)} is not what the manifests of the package say: it is damaged, or was "
        "changed while it was read.",
        "`tailsout check` tells all that is wrong; damage cannot be amended away.",
    )


def read(bag: ReadableBag) -> tuple[Superseded | None, tuple[Finding, ...]]:
    """Read the version to be superseded; None and what is wrong if it is not sound.

    What a statement lacks may be what is to be put right, so only the bag, its containers, its
    side-cars and its earlier amendments must be in order here; digests are compared as the files
    are carried over. Raises MaterialError for a manifest that was changed, SurroundingsError if
    it cannot be read.
    """
    dossier = read_package(bag)
    sound = (*(rule for rule in RULES if rule.decides), *sidecars.RULES, *amendments.RULES)
    unsound = {kind.code for rule in sound for kind in rule.kinds}
    found = tuple(
        one for one in judge(dossier).findings if one.code in unsound and one.verdict in _STOPPING
    )
    if found:
        return None, found
    listed: dict[str, dict[str, str]] = {}
    for manifest in bag.facts.manifests:
        for line in manifest.lines:
            if manifest.algorithm in ALGORITHMS:
                listed.setdefault(line.path, {})[manifest.algorithm] = line.digest.lower()
    known = (one.name for one in bag.facts.manifests if one.algorithm in ALGORITHMS)
    pinned = {name: _pin(bag, name) for name in known}
    for name, digest in pinned.items():
        if listed.get(name, {}).get("sha512", digest) != digest:
            raise damaged(name)
    return Superseded(
        bag=bag,
        dossier=dossier,
        record_only=_record_only(bag, dossier),
        pinned=pinned,
        listed=listed,
        octets={file.path: file.octets for file in bag.facts.files},
    ), ()


def is_at_the_root(path: str) -> bool:
    """Tell whether a file is one of those that every version writes anew by the rules of BagIt."""
    return path in _AT_THE_ROOT or MANIFEST_NAME.fullmatch(path) is not None


def _pin(bag: ReadableBag, name: str) -> str:
    with Hashing(["sha512"]) as hashing:
        hashing.update(bag.read(name, Caps().manifest_octets))
        return hashing.hexdigests()["sha512"]


def _record_only(bag: ReadableBag, dossier: Dossier) -> tuple[str, SideCar] | None:
    if dossier.transfer is None or any(file.sidecar for file in dossier.files):
        return None
    for path in naming.record_only_paths(file.path for file in bag.facts.files):
        told, _ = sidecar.read(bag.read(path, MAX_JSON_OCTETS), path)
        if told is not None:
            return path, told
    return None
