"""metadata/README.txt: the package explained to somebody who has no software at all."""

from collections.abc import Mapping
from textwrap import fill

from tailsout.ground.findings import Finding
from tailsout.ground.units import printable
from tailsout.mapping import masters, naming
from tailsout.records.dossier import Dossier
from tailsout.views import versions

_WIDTH = 79
_FLAC = (
    " It is a wave file compressed by FLAC (RFC 9639), from which it can be had again octet for "
    "octet: its chunks lie in APPLICATION blocks of the kind called riff."
)


def render(dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]) -> bytes:
    """Return the page in UTF-8. `assets` holds nothing that this view needs."""
    del findings, assets
    parts = [*_what(dossier), *_files(dossier), *_verify()]
    return ("\n".join(parts) + "\n").encode("utf-8")


def _what(dossier: Dossier) -> list[str]:
    transfer = dossier.transfer
    title = transfer.reel.title if transfer else None
    name = transfer.package_id if transfer else "this package"
    text = (
        "This folder holds the sound of one reel of magnetic tape as it was transferred, with the "
        "history of the reel, of the machine it was played on and of the way of the signal. It is "
        "laid out as a bag by RFC 8493 (The BagIt File Packaging Format, 2018). Nothing in it "
        "needs a particular program: the sound is broadcast wave audio (EBU Tech 3285), the rest "
        "is text in UTF-8."
    )
    heading = printable(f"{name}: {title}" if title else name)
    lines = [heading, "=" * min(len(heading), _WIDTH), "", _wrapped(text), ""]
    if dossier.amendments:
        lines += [_wrapped(versions.paragraph(dossier.amendments)), ""]
    return lines


def _files(dossier: Dossier) -> list[str]:
    transfer = dossier.transfer
    # Of an earlier version: what no side-car tells of, as a calibration capture, is no master.
    files = [
        file for file in dossier.files if dossier.origin == "closing" or file.capture is not None
    ]
    lines = ["What lies where", "---------------", ""]
    for file in files:
        path = masters.master_path(transfer, file)
        lines += _entry(
            path,
            "preservation master: the samples exactly as captured; the chunk called bext in its "
            "header says in short what it is." + (_FLAC if naming.is_flac(path) else ""),
        )
        lines += _entry(
            naming.sidecar_path(path),
            "its side-car: all that is known of reel, machine, passes and signal path, and what "
            "was measured in the audio, with methods and units. JSON (RFC 8259).",
        )
    lines += _bench(dossier)
    lines += _entry("bagit.txt", "says that this folder is a bag, and of which version.")
    lines += _entry("bag-info.txt", "who sent it, when, and what it is called.")
    lines += _entry(
        "manifest-*.txt", "digests of every file below data, one line a file, by each algorithm."
    )
    lines += _entry("tagmanifest-*.txt", "digests of all the other files, in the same way.")
    lines += _entry(
        f"{naming.SCHEMAS}/",
        "the schema of the side-car: what each key means, its unit and the words allowed.",
    )
    lines += _entry(
        naming.CHECKS,
        "what was checked before packing, what was found, and which checks could not be made.",
    )
    lines += _entry(
        naming.REPORT,
        "all of it on one sheet for people, to be opened in any browser and printed; it needs no "
        "network and runs no program.",
    )
    lines += _entry(
        naming.PREMIS,
        "the same history in PREMIS 3.0, for programs that keep archives: what there is, what was "
        "done to it, by whom. What it could not hold is said in it; the side-cars hold everything.",
    )
    lines += _entry(
        naming.METS,
        "the same in METS 1.12.1: the files with their digests, which stretch of a file is which "
        "part of the reel, and PREMIS and Dublin Core once more.",
    )
    captured = (
        "where it exists: the header chunks of the recorder that the master's own replace, octet "
        "for octet; of files that were joined or interleaved, all octets before and behind their "
        "samples."
    )
    if any(naming.is_flac(source.file) for file in files for source in file.sources):
        captured += " Of FLAC files (RFC 9639), everything before their first frame."
    lines += _entry(f"{naming.AS_CAPTURED}/", captured)
    if dossier.amendments:
        lines += _entry(naming.AMENDMENTS, "what was put right in each version, by whom and why.")
        lines += _entry(f"{naming.SUPERSEDED}/", "what is kept of each version superseded.")
    lines += _entry(naming.README, "this page.")
    return lines


def _bench(dossier: Dossier) -> list[str]:
    lines = []
    for path in sorted({one.path for one in dossier.calibrations if one.path is not None}):
        lines += _entry(
            path,
            "what the machine played of a calibration tape, octet for octet as captured; the "
            "side-cars say which tape, at which setting, and what was read.",
        )
    elsewhere = {(one.file, one.packed_in) for one in dossier.calibrations if one.path is None}
    for file, holder in sorted(elsewhere):
        lines += _entry(
            f"{file} (not here)",
            f"what the machine played of a calibration tape lies in the package {holder}, made "
            "from the same session; its digest and what was read stand in the side-cars here.",
        )
    for session in sorted({one.session for one in dossier.calibrations}):
        lines += _entry(
            f"{naming.PLOTS}/{session}/",
            "what was read of the calibration tapes, drawn: response against the certificate, "
            "phase between channels, flutter. SVG; each tells its facts in words too.",
        )
    for rest in dossier.at_rest:
        lines += _entry(
            rest.path, "what the machine gave with no tape moving, octet for octet as captured."
        )
    return lines


def _verify() -> list[str]:
    return [
        "How to see whether anything has changed",
        "---------------------------------------",
        "",
        _wrapped(
            "Open a terminal in the folder that holds bagit.txt and run these two commands; both "
            "must print OK for every line:"
        ),
        "",
        "    sha512sum -c manifest-sha512.txt",
        "    sha512sum -c tagmanifest-sha512.txt",
        "",
        _wrapped(
            "The second one covers the manifests themselves. The digests of the tag manifests are "
            "in the receipt, a JSON file that was written beside this folder when the package was "
            "made; kept elsewhere, it shows whether the manifests were exchanged. Any program for "
            "SHA-512 or SHA-256 (FIPS 180-4) will do as well; a manifest line is the digest, two "
            "blanks, and the path."
        ),
    ]


def _entry(path: str, text: str) -> list[str]:
    shown = fill(
        text,
        _WIDTH,
        initial_indent="    ",
        subsequent_indent="    ",
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [printable(path), shown, ""]


def _wrapped(text: str) -> str:
    return fill(text, _WIDTH, break_long_words=False, break_on_hyphens=False)
