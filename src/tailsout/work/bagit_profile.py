"""Takes a BagIt Profile from the file that the user names; nothing is ever fetched."""

from pathlib import Path

from tailsout.ground.errors import MaterialError, UsageError, from_os_error
from tailsout.ground.units import printable
from tailsout.mapping import bagit_profile
from tailsout.mapping.strict_json import MAX_JSON_OCTETS
from tailsout.records.bagit_profile import BagItProfile

_MOST_FAULTS = 10
_MOST_OF_A_FAULT = 150


def load(path: Path) -> BagItProfile:
    """Read the profile to judge packages by.

    Raises UsageError if there is no such file, SurroundingsError if it cannot be read, and
    MaterialError, which lists the faults, if it is not a profile.
    """
    shown = printable(str(path))
    try:
        if not path.is_file():
            what = "it is a file of JSON, and nothing is fetched"
            raise UsageError(f"There is no BagIt Profile {shown}.", f"Name its file: {what}.")
        with path.open("rb") as stream:
            # One octet more than the reader of JSON takes, so that it can tell.
            content = stream.read(MAX_JSON_OCTETS + 1)
    except OSError as error:
        raise from_os_error(error, f"Reading {shown}") from error
    profile, findings = bagit_profile.read(content, shown)
    if profile is not None:
        return profile
    told = (f"{one.place.part} {one.text}".lstrip() for one in findings[:_MOST_FAULTS])
    faults = [printable(one, _MOST_OF_A_FAULT) for one in told]
    if len(findings) > _MOST_FAULTS:
        faults.append(f"and {len(findings) - _MOST_FAULTS} more.")
    raise MaterialError(
        f"The BagIt Profile {shown} cannot be used. {' '.join(faults)}",
        "Ask whoever keeps it for one that its specification allows.",
    )
