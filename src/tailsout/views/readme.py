"""metadata/README.txt: the package explained to somebody who has no software at all."""

from collections.abc import Iterable, Mapping

from tailsout.ground.findings import Finding
from tailsout.ground.units import printable
from tailsout.mapping import masters, naming
from tailsout.mapping.names import tree
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.vocab import FileRole
from tailsout.views import versions
from tailsout.views.readme_reading import WIDTH, samples, verify, words, wrapped

_FLAC = (
    " It is a wave file compressed by FLAC (RFC 9639), from which it can be had again octet for "
    "octet: its chunks lie in APPLICATION blocks of the kind called riff."
)
_ASKED_FOR: Mapping[str, str] = {
    naming.CRATE: "the payload, people and what was done, in RO-Crate 1.2 (JSON-LD).",
    naming.RECIPIENT: "what the recipient asked of packages when this one was made. TOML 1.0.",
    naming.PBCORE: "recording, reel and masters in PBCore 2.1.",
    naming.INVENTORY: "one row for a catalogue. CSV (RFC 4180).",
    naming.LABEL: "the label for the box, 100 by 70 mm. SVG.",
}
"""What lies only in packages whose recipient asks for it."""
_FOLDERS: Mapping[FileRole, str] = {
    "access": "copies for listening, made from the masters; the side-car of each master says from "
    "which stretch of it and how.",
    "image": "photographs as they came; the side-cars say what they show.",
    "document": "papers as they came.",
}

_BEGIN = (
    f"Begin with {naming.REPORT}, in any browser, or in a text editor where there is none: at its "
    "top stand in plain words what will be heard, what is needed to play the reel again, and what "
    "is not certain."
)
_MASTER = (
    "preservation master: the samples exactly as captured; the chunk called bext in its header "
    "says in short what it is."
)
_SIDECAR = (
    "its side-car: all that is known of reel, machine, passes and signal path, and what was "
    "measured in the audio, with methods and units. JSON (RFC 8259): under transfer stands the "
    "history, under this_file what is true of this audio alone."
)
_CALIBRATION = (
    "what the machine played of a calibration tape, octet for octet as captured; the side-cars say "
    "which tape, at which setting, and what was read."
)
_PLOTS = (
    "what was read of the calibration tapes, drawn: response against the certificate, phase "
    "between channels, flutter. SVG; each tells its facts in words too."
)
_EVERYWHERE: Mapping[str, str] = {
    "bagit.txt": "says that this folder is a bag, and of which version.",
    "bag-info.txt": "who sent it, when, and what it is called.",
    "manifest-*.txt": "digests of every file below data, one line a file, by each algorithm.",
    "tagmanifest-*.txt": "digests of all the other files, in the same way.",
    f"{naming.SCHEMAS}/": "the schema of the side-car: what each key means, its unit and the words "
    "allowed.",
    naming.CHECKS: "what was checked before packing, what was found, and which checks could not be "
    "made.",
    naming.REPORT: "all of it on one sheet for people, to be opened in any browser and printed; it "
    "needs no network and runs no program.",
    naming.PREMIS: "the same history in PREMIS 3.0, for programs that keep archives: what there "
    "is, what was done to it, by whom. What it could not hold is said in it; the side-cars hold "
    "everything.",
    naming.METS: "the same in METS 1.12.1: the files with their digests, which stretch of a file "
    "is which part of the reel, and PREMIS and Dublin Core once more.",
    f"{naming.AS_CAPTURED}/": "where it exists: the header chunks of the recorder that the "
    "master's own replace, octet for octet; of files that were joined or interleaved, all octets "
    "before and behind their samples.",
}


def render(dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]) -> bytes:
    """Return the page in UTF-8. `assets` may hold `paths`: what lies in the package, by lines.

    What not every package has is told of only if it is named there.
    """
    del findings
    paths = [path for path in assets.get("paths", b"").decode("utf-8").split("\n") if path]
    told = {**_masters(dossier), **_bench(dossier), **_everywhere(dossier)}
    told = {**told, **_more(dossier, paths, told), naming.README: "this page."}
    payload = [path for path in told if path.startswith("data/")]
    lines = [*_what(dossier), "What lies where", "---------------", ""]
    for path in (*payload, *(path for path in told if path not in payload)):
        lines += _entry(path, told[path])
    name = dossier.transfer.package_id if dossier.transfer is not None else ""
    sound = [(masters.master_path(dossier.transfer, one), one) for one in _transferred(dossier)]
    lines += [*samples(sound), *words(), *verify(name)]
    return ("\n".join(lines) + "\n").encode("utf-8")


def _what(dossier: Dossier) -> list[str]:
    transfer = dossier.transfer
    title = transfer.reel.title if transfer else None
    name = transfer.package_id if transfer else "this package"
    heading = printable(f"{name}: {title}" if title else name)
    lines = [heading, "=" * min(len(heading), WIDTH), "", wrapped(_in_short(dossier)), ""]
    lines += [wrapped(_BEGIN), ""]
    if dossier.amendments:
        lines += [wrapped(versions.paragraph(dossier.amendments)), ""]
    return lines


def _in_short(dossier: Dossier) -> str:
    if dossier.transfer is not None and not dossier.files:
        holds = (
            "This folder holds what is known of one reel of magnetic tape that was not played, and "
            "why it was not."
        )
        sound = ""
    else:
        holds = (
            "This folder holds the sound of one reel of magnetic tape as it was transferred, with "
            "the history of the reel, of the machine it was played on and of the signal chain."
        )
        sound = "the sound is broadcast wave audio (EBU Tech 3285), "
    return (
        f"{holds} It is laid out as a bag by RFC 8493 (The BagIt File Packaging Format, 2018). "
        f"Nothing in it needs a particular program: {sound}photographs and papers are as they "
        "came, the rest is text in UTF-8."
    )


def _masters(dossier: Dossier) -> dict[str, str]:
    told = {}
    for file in _transferred(dossier):
        path = masters.master_path(dossier.transfer, file)
        told[path] = _MASTER + (_FLAC if naming.is_flac(path) else "")
        told[naming.sidecar_path(path)] = _SIDECAR
    if dossier.transfer is not None and not dossier.files:
        path = naming.record_only_path(dossier.transfer.package_id)
        told[path] = "all that is known of the reel, and why it was not played. JSON (RFC 8259)."
    return told


def _transferred(dossier: Dossier) -> tuple[FileRecord, ...]:
    """Return the masters; of an earlier version, what no side-car tells of is none."""
    return tuple(
        file for file in dossier.files if dossier.origin == "closing" or file.capture is not None
    )


def _bench(dossier: Dossier) -> dict[str, str]:
    there = sorted(one.path for one in dossier.calibrations if one.path is not None)
    told = dict.fromkeys(there, _CALIBRATION)
    elsewhere = {(one.file, one.packed_in) for one in dossier.calibrations if one.path is None}
    for file, holder in sorted(elsewhere):
        told[f"{file} (not here)"] = (
            f"what the machine played of a calibration tape lies in the package {holder}, made "
            "from the same session; its digest and what was read stand in the side-cars here."
        )
    for session in sorted({one.session for one in dossier.calibrations}):
        told[f"{naming.PLOTS}/{session}/"] = _PLOTS
    for rest in dossier.at_rest:
        told[rest.path] = "what the machine gave with no tape moving, octet for octet as captured."
    return told


def _everywhere(dossier: Dossier) -> dict[str, str]:
    told = dict(_EVERYWHERE)
    sources = (source.file for file in _transferred(dossier) for source in file.sources)
    if any(map(naming.is_flac, sources)):
        told[f"{naming.AS_CAPTURED}/"] += (
            " Of FLAC files (RFC 9639), everything before their first frame."
        )
    if dossier.amendments:
        told[naming.AMENDMENTS] = "what was put right in each version, by whom and why."
        told[f"{naming.SUPERSEDED}/"] = "what is kept of each version superseded."
    return told


def _more(dossier: Dossier, paths: Iterable[str], told: Mapping[str, str]) -> dict[str, str]:
    """Return an entry for all that has none yet: a file of its own, or the folder it lies in."""
    recipient = dossier.transfer.recipient if dossier.transfer is not None else None
    folders = {f"{tree.folder(recipient, role)}/": text for role, text in _FOLDERS.items()}
    known = tuple(path for path in told if path.endswith("/"))
    entries = {}
    for path in paths:
        if path in told or path.startswith(known):
            continue
        folder = next((one for one in folders if path.startswith(one)), "")
        if path in _ASKED_FOR:
            entries[path] = _ASKED_FOR[path]
        elif folder:
            entries[folder] = folders[folder]
        else:
            entries[path] = "carried along as it was."
    return entries


def _entry(path: str, text: str) -> list[str]:
    return [printable(path), wrapped(text, "    "), ""]
