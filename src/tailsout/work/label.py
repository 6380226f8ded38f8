"""Makes labels for box and spine of the reel that a package was made from."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

from tailsout.bag.build import Built
from tailsout.bag.disk import Disk
from tailsout.bag.notes import DEFAULT_CAPS
from tailsout.bag.readable import ReadableBag
from tailsout.ground.digests import digests_of
from tailsout.ground.errors import MaterialError, TailsoutError
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.records.dossier import Dossier
from tailsout.views import label as views
from tailsout.views.label import layout
from tailsout.work.opened import must_be_bag, open_package
from tailsout.work.package import read_package

Form = Literal["svg", "pdf"]
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def label(path: Path, progress: Progress, *, form: Form = "svg", spine: bool = False) -> bytes:
    """Return a label for the package at `path`, a folder or an archive.

    Raises UsageError if it is neither a directory nor an archive, MaterialError if it holds no bag
    or cannot be read as a whole, SurroundingsError if it cannot be opened.
    """
    with open_package(path, progress) as bag:
        must_be_bag(bag.facts, path)
        dossier = read_package(bag)
        told = _tag_manifest(bag)
    made = layout.spine(dossier) if spine else layout.box(dossier, told)
    if form == "svg":
        return views.drawn(made)
    from tailsout.views.label import pdf  # noqa: PLC0415  the library is heavy

    return pdf.drawn(made, _instant(dossier))


def lay(dossier: Dossier, built: Built, *, disk: Disk, progress: Progress) -> Path | None:
    """Lay the label of a package that stands beside it; None if it could not be.

    It can be made again at any time, so that nothing fails for want of it, and what else stands
    there already stays.
    """
    name = max(built.tag_manifests)
    told = f"{name} SHA-256 {built.tag_manifests[name]['sha256']}"
    content = views.drawn(layout.box(dossier, told))
    place = built.path.with_name(f"{built.path.name}{naming.LABEL_BESIDE}")
    try:
        if not (place.is_file() and place.read_bytes() == content):
            disk.write_beside(place, content)
    except (TailsoutError, OSError) as error:
        again = f"`tailsout label {built.path.name} -o FILE` makes it"
        why = error.sentence if isinstance(error, TailsoutError) else printable(str(error))
        progress.say(f"No label was laid beside it ({why}); {again}.")
        return None
    return place


def _tag_manifest(bag: ReadableBag) -> str:
    """Name the strongest tag manifest and tell its SHA-256, as the receipt does; empty if none."""
    names = sorted(
        (one.path for one in bag.facts.files if one.path.startswith("tagmanifest-")), reverse=True
    )
    for name in names:
        try:
            content = bag.read(name, DEFAULT_CAPS.manifest_octets)
        except MaterialError:
            continue
        return f"{name} SHA-256 {digests_of(content, ('sha256',))['sha256']}"
    return ""


def _instant(dossier: Dossier) -> datetime:
    """Return when the package was written; a stranger's may not say so."""
    cars = [file.sidecar for file in dossier.files if file.sidecar]
    cars += [dossier.record_only] if dossier.record_only is not None else []
    try:
        return datetime.fromisoformat(cars[0].written) if cars else _EPOCH
    except ValueError:
        return _EPOCH
