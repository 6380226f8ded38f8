"""The recipients' forms that come with the program, and a studio's own."""

from importlib import resources
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.ground.errors import UsageError
from tailsout.ground.units import printable
from tailsout.mapping import schemas
from tailsout.records.bagit_profile import BagItProfile
from tailsout.records.transfer import Transfer
from tailsout.work.bagit_profile import load

_ENDING = ".toml"


def shipped() -> dict[str, bytes]:
    """Return the forms that come with the program by id, sorted."""
    folder = resources.files("tailsout.work.shipped")
    found = {
        entry.name.removesuffix(_ENDING): entry.read_bytes()
        for entry in folder.iterdir()
        if entry.name.endswith(_ENDING)
    }
    return dict(sorted(found.items()))


def bagit_profile(transfer: Transfer, studio: Path | None) -> BagItProfile | None:
    """Return the BagIt Profile that lies beside the recipient's form, if they have one.

    Raises as `bagit_profile.load` does.
    """
    asked = transfer.recipient.bag if transfer.recipient is not None else None
    if asked is None or asked.bagit_profile is None or studio is None:
        return None
    return load(studio / "recipients" / asked.bagit_profile)


def check_named(recipient: str | None, studio: Path, disk: Disk) -> None:
    """Refuse a recipient that neither the studio nor the program has a form of.

    Raises UsageError.
    """
    if recipient is None or recipient in shipped():
        return
    is_name = not schemas.faults({"id": recipient}, "recipient-0.1")
    if not is_name or not disk.is_there(studio / "recipients" / f"{recipient}{_ENDING}"):
        raise UsageError(
            f"The studio has no recipients/{printable(recipient)}{_ENDING}.",
            f"Write one, or take one that comes with the program: {', '.join(shipped())}.",
        )


def put(recipient: str | None, studio: Path, disk: Disk) -> bool:
    """Write a form that comes with the program into a studio that has none of that id.

    Returns whether it was written. Raises OSError.
    """
    form = shipped().get(recipient or "")
    path = studio / "recipients" / f"{recipient}{_ENDING}"
    if form is None or disk.is_there(path):
        return False
    if not disk.is_there(path.parent):
        disk.make_directory(path.parent)
    disk.write_beside(path, form)
    return True
