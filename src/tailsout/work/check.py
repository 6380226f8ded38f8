"""Judges one package: anybody's bag, ours or not."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from tailsout.bag.fingerprint import archive_fingerprint, fingerprint_of
from tailsout.bag.receipt_beside import find
from tailsout.bag.workers import Workers
from tailsout.ground.findings import Judgement
from tailsout.ground.progress import Progress
from tailsout.records.bag_state import BagState
from tailsout.records.bagit_profile import BagItProfile
from tailsout.records.dossier import Depth, Dossier, Examined
from tailsout.records.fingerprint import Fingerprint
from tailsout.rules import judge
from tailsout.rules.bag_state import bag_state
from tailsout.rules.rule import package_of
from tailsout.work.deep import looked_into
from tailsout.work.opened import open_package
from tailsout.work.package import UNASKED, bag_alone, proved, read_package
from tailsout.work.receipt_beside import read_receipt


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """A package and what was made of it."""

    dossier: Dossier
    judgement: Judgement
    bag: BagState | None
    """What it is in the words of RFC 8493 §3."""
    fingerprint: Fingerprint | None = None
    """By what it is known again without being read through; None if that cannot be told."""


def check(
    path: Path,
    progress: Progress,
    *,
    depth: Depth = Depth.FULL,
    bagit_only: bool = False,
    bagit_profile: BagItProfile | None = None,
    schemas: Mapping[str, bytes] | None = None,
    just_built: bool = False,
    workers: Workers | None = None,
) -> Checked:
    """Open, prove and judge the bag at `path`, as deep as is asked.

    `bagit_only` leaves it at RFC 8493: no audio file is looked into and no side-car read.
    `bagit_profile` is held against it at any depth; `schemas` are official ones by file name.
    `just_built` is for a package of ours that is about to be named: it is read from the disk
    itself, and its FLAC masters are decoded at any depth but structure. `workers` may be shared by
    packages that are judged at once.
    Raises UsageError if it is neither a directory nor an archive, SurroundingsError if it cannot
    be opened.
    """
    known_by = archive_fingerprint(path)
    with open_package(path, progress) as bag:
        receipt = find(path)
        if bag.facts.archive is None:
            known_by = fingerprint_of(bag, receipt)
        if depth is Depth.STRUCTURE or bagit_only:
            dossier = bag_alone(bag, depth)
        else:
            dossier = replace(read_package(bag, schemas), unasked=UNASKED[depth])
        if depth is not Depth.STRUCTURE:
            dossier = proved(bag, dossier, progress, from_disk=just_built, workers=workers)
            if depth is Depth.DEEP or just_built:
                measuring = depth is Depth.DEEP
                dossier = looked_into(bag, dossier, progress, measuring=measuring)
        if receipt is not None and not bagit_only:
            told = read_receipt(bag, receipt)
            dossier = replace(dossier, package=replace(package_of(dossier), receipt=told))
    if bagit_profile is not None:
        dossier = _to_be_kept(dossier, bagit_profile)
    judgement = judge(dossier)
    state = bag_state(dossier, judgement.findings)
    return Checked(dossier=dossier, judgement=judgement, bag=state, fingerprint=known_by)


def _to_be_kept(dossier: Dossier, profile: BagItProfile) -> Dossier:
    return replace(
        dossier,
        bagit_profile=profile,
        reading=(*dossier.reading, *profile.reading),
        examined=dossier.examined | frozenset[Examined]({"bagit-profile"}),
    )
