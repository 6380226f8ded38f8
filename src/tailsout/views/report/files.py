"""The files of the package and their digests."""

from collections.abc import Iterator, Mapping

from tailsout.ground.findings import Finding
from tailsout.ground.units import counted, size
from tailsout.mapping import naming
from tailsout.records.dossier import Dossier
from tailsout.records.facts import PackageFacts
from tailsout.views.report.blocks import Block, Paragraph, Table

_SHOWN = ("sha256", "sha512", "md5")


def blocks(
    dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]
) -> Iterator[Block]:
    """Yield the section; nothing where no package is known."""
    del findings, assets
    package = dossier.package
    if package is None:
        return
    payload = [file for file in package.files if file.path.startswith("data/")]
    octets = sum(file.octets for file in payload)
    bag = f"a bag of version {package.bagit_version}" if package.bagit_version else "no bag"
    yield Paragraph(
        text=f"The package is {bag}: {counted(len(payload), 'file')} below data, {size(octets)}."
    )
    algorithm, digests = _digests(package)
    if not payload:
        return
    of = algorithm.upper().replace("SHA", "SHA-") if algorithm else "Digest"
    yield Table(
        caption=f"Files below data, each with its {of}; the manifests hold the other digests",
        titles=("File", "Octets", of),
        rows=tuple(
            (file.path, f"{file.octets:,}".replace(",", " "), digests.get(file.path, "not stated"))
            for file in payload
        ),
    )
    has_page = any(file.path == naming.README for file in package.files)
    more = f"; {naming.README} tells more" if dossier.origin == "closing" or has_page else ""
    yield Paragraph(
        text="Whether a file has changed can be seen without this program: `sha512sum -c "
        f"manifest-sha512.txt` in the folder that holds bagit.txt{more}."
        if "sha512" in _listed(package)
        else "Whether a file has changed can be seen by taking its digest with any program for "
        "the algorithm that a manifest is named by, in the folder that holds bagit.txt."
    )


def _listed(package: PackageFacts) -> set[str]:
    named = {one.algorithm for one in package.manifests if not one.is_tag}
    return named or {name for file in package.files for name in file.digests}


def _digests(package: PackageFacts) -> tuple[str, Mapping[str, str]]:
    """Return which digest is shown, and those stated, else found, by path."""
    for algorithm in _SHOWN:
        stated = {
            line.path: line.digest
            for manifest in package.manifests
            if manifest.algorithm == algorithm and not manifest.is_tag
            for line in manifest.lines
        }
        found = {
            file.path: file.digests[algorithm]
            for file in package.files
            if algorithm in file.digests
        }
        if stated or found:
            return algorithm, stated or found
    return "", {}
