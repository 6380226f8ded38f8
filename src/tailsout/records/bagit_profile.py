"""A BagIt Profile: what a receiver asks of every bag that names it (BagIt Profiles 1.3 and 1.4)."""

from dataclasses import dataclass
from typing import Literal

from tailsout.ground.findings import Finding

Serialization = Literal["forbidden", "required", "optional"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelRule:
    """What is asked of one label of bag-info.txt."""

    label: str
    required: bool = False
    values: tuple[str, ...] = ()
    """One of these; empty: any."""
    repeatable: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class BagItProfile:
    """One profile; a key that was left out has the value that the specification gives it."""

    identifier: str
    """The URI by which bags name it; never fetched."""
    specification: str
    """Version of the specification it declares; 1.1.0 where it declares none."""
    sha256: str = ""
    """Of the file it was read from."""
    labels: tuple[LabelRule, ...] = ()
    manifests_required: tuple[str, ...] = ()
    """Algorithms, as in the names of manifests."""
    manifests_allowed: tuple[str, ...] | None = None
    """None: any."""
    tag_manifests_required: tuple[str, ...] = ()
    tag_manifests_allowed: tuple[str, ...] | None = None
    tag_files_required: tuple[str, ...] = ()
    tag_files_allowed: tuple[str, ...] = ("*",)
    payload_files_required: tuple[str, ...] = ()
    """Files, and directories that end in `/`."""
    payload_files_allowed: tuple[str, ...] = ("*",)
    data_empty: bool = False
    allow_fetch: bool = True
    fetch_required: bool = False
    serialization: Serialization = "optional"
    accept_serialization: tuple[str, ...] = ()
    """Media types."""
    accept_bagit_version: tuple[str, ...] | None = None
    """None: any."""
    reading: tuple[Finding, ...] = ()
    """Met while reading it."""
