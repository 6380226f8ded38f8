"""Where things lie in a package: the default names and tree; `names` has a recipient's."""

import re
from collections.abc import Iterable
from pathlib import PurePosixPath

from tailsout.records.calibration import CalibrationFacts
from tailsout.records.capture import Capture

AUDIO = "data/audio"
CALIBRATION = "data/calibration"
AS_CAPTURED = "metadata/as-captured"
PLOTS = "metadata/plots"
README = "metadata/README.txt"
CHECKS = "metadata/checks.json"
REPORT = "metadata/report.html"
LABEL = "metadata/label.svg"
RECEIPT_BESIDE, LABEL_BESIDE = ".receipt.json", ".label.svg"
"""What follows the name of a package in the names of what is laid beside it."""
SCHEMAS = "metadata/schemas"
AMENDMENTS = "metadata/amendments.json"
RECIPIENT = "metadata/recipient.toml"
"""The recipient's form as it stood when the package was made."""
PREMIS = "metadata/premis.xml"
METS = "metadata/mets.xml"
PBCORE = "metadata/pbcore.xml"
CRATE = "data/ro-crate-metadata.json"
INVENTORY = "metadata/inventory.csv"
SUPERSEDES = "Supersedes"
"""Label in bag-info.txt of the version that a package supersedes (RFC 8493 §2.2.2: any label)."""
SUPERSEDED = "metadata/superseded"
"""Folder of what is kept of the versions that a package supersedes."""
PACKED_FOLDERS = ("images", "documents")
"""Folders of a job whose files are packed as they are."""
_SYSTEMS_OWN = frozenset({"thumbs.db", "desktop.ini"})


def master_stem(file: str) -> str:
    """Return the name of a master without its ending: the recorder's own name of its (first) file.

    `file` is a path in the job folder.
    """
    return PurePosixPath(file).stem


def files_of(capture: Capture) -> tuple[str, ...]:
    """Return the files of a capture as the recorder left them, in order: paths in the job."""
    return tuple(part.file for part in capture.parts) or capture.mono_files or (capture.file,)


def sidecar_path(audio_path: str) -> str:
    """Return the path of the side-car beside an audio file: same stem."""
    return audio_path.rpartition(".")[0] + ".json"


def calibration_path(folder: str, session: str, file: str) -> str:
    """Return where a capture of a calibration tape is packed.

    `folder` is that of the package, `file` is its path in the folder of the session.
    """
    return f"{folder}/{session}/{file}"


def tone_plot_path(fact: CalibrationFacts, plot: str) -> str:
    """Return where a plot of the tones of a capture lies in a package."""
    moment = fact.moment.replace(" ", "-")
    return f"{PLOTS}/{fact.session}/{fact.setting}-{moment}-{plot}.svg"


def at_rest_path(folder: str, file: str) -> str:
    """Return where a capture of the chain at rest is packed; `file` is its path in the job."""
    return f"{folder}/at-rest/{file}"


def is_kept(path: str) -> bool:
    """Tell whether a file of a job, named by its path there, is packed as it is."""
    folder, _, inside = path.partition("/")
    return folder in PACKED_FOLDERS and bool(inside) and not hidden_part(path)


def hidden_part(path: str) -> str:
    """Return a path as far as its first part that is hidden or a system's own; empty if none is."""
    parts = path.split("/")
    for count, part in enumerate(parts, start=1):
        if part.startswith(".") or part.casefold() in _SYSTEMS_OWN:
            return "/".join(parts[:count])
    return ""


def is_wave(path: str) -> bool:
    """Tell by its name whether a file claims to be wave audio."""
    return path.lower().endswith((".wav", ".wave", ".bwf", ".rf64"))


def is_flac(path: str) -> bool:
    """Tell by its name whether a file claims to be FLAC audio."""
    return path.lower().endswith(".flac")


def wave_path(path: str) -> str:
    """Return how a wave file beside another audio file would be called: same stem."""
    return path.rpartition(".")[0] + ".wav"


def superseded_path(version: int, path: str) -> str:
    """Return where a file of a superseded version is kept, named by its path there."""
    return f"{SUPERSEDED}/v{version}/{path}"


def version_name(package_id: str, version: int) -> str:
    """Return the name of a version's base directory; as first closed a package is version 1."""
    return package_id if version == 1 else f"{package_id}.v{version}"


def is_captured_of(path: str, stems: Iterable[str]) -> bool:
    """Tell whether a file was kept of captures of those stems, because a master replaced it."""
    folder, _, name = path.rpartition("/")
    stem, _, ending = name.rpartition(".")
    return folder == AS_CAPTURED and bool(ending) and stem in stems


def record_only_path(package_id: str) -> str:
    """Return the path of the one side-car of a reel that was not played."""
    return f"data/{package_id}.json"


def record_only_paths(paths: Iterable[str]) -> list[str]:
    """Return which files of a package without audio may be such a side-car, sorted."""
    return sorted(p for p in paths if re.fullmatch(r"data/[^/]+\.json", p))
