"""The files of a package by their use, each with size, media type and strongest digest."""

from tailsout.mapping import naming
from tailsout.mapping.addresses import address
from tailsout.mapping.xml import Element
from tailsout.views.formats import format_of
from tailsout.views.mets.parts import XLINK, made, section_ids
from tailsout.views.packaged import Packaged, PayloadFile
from tailsout.views.premis import Entities
from tailsout.views.xml_text import holdable

_ALGORITHMS = {
    "sha512": "SHA-512",
    "sha384": "SHA-384",
    "sha256": "SHA-256",
    "sha1": "SHA-1",
    "md5": "MD5",
}
"""As CHECKSUMTYPE spells them."""


def by_use(packaged: Packaged) -> dict[str, list[PayloadFile]]:
    """Return the files by what they are for."""
    masters = {file.path for file in packaged.files if file.record and file.record.stated}
    cars = {naming.sidecar_path(path) for path in masters}
    found: dict[str, list[PayloadFile]] = {}
    for file in packaged.files:
        use = "preservation master" if file.path in masters else "payload"
        if file.path in cars:
            use = "side-car"
        elif file.copied is not None:
            use = "access copy"
        elif file.path not in masters and file.path.count("/") > 1:
            use = file.path.split("/")[1]
        found.setdefault(use, []).append(file)
    return found


def file_section(packaged: Packaged, entities: Entities) -> Element | None:
    """Return the section; None if there are no files."""
    groups = [
        made("fileGrp", [_file(packaged, file, entities) for file in files], {"USE": holdable(use)})
        for use, files in by_use(packaged).items()
    ]
    return made("fileSec", groups) if groups else None


def file_key(packaged: Packaged, file: PayloadFile) -> str:
    """Return the identifier of a file within the document."""
    return f"file-{packaged.file_id(file.path)}"


def _file(packaged: Packaged, file: PayloadFile, entities: Entities) -> Element:
    attributes = {
        "ID": file_key(packaged, file),
        "MIMETYPE": format_of(file).media_type,
        "SIZE": str(file.octets),
        "ADMID": section_ids(packaged.file_id(file.path), entities),
    }
    known = [(a, digest) for a, digest in file.digests if a in _ALGORITHMS]
    if known:
        algorithm, digest = known[0]
        attributes |= {"CHECKSUM": digest, "CHECKSUMTYPE": _ALGORITHMS[algorithm]}
    # Relative to this document, which lies in the folder `metadata`.
    where = f"../{address(file.path)}"
    locator = made("FLocat", (), {"LOCTYPE": "URL", f"{{{XLINK}}}href": where})
    return made("file", [locator], attributes)
