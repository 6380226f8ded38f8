"""Which of several names are those of packages: a pattern names what lies beside them too."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from tailsout.bag.archive.form import HEAD_OCTETS, form_of
from tailsout.ground.errors import UsageError
from tailsout.ground.units import printable
from tailsout.mapping import naming

_PROOF = (naming.RECEIPT_BESIDE, ".sha512")
_BESIDE = (*_PROOF, naming.LABEL_BESIDE)
"""Endings of what is written beside packages by this program."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Parted:
    """Names, parted by what to do about them; receipts, digests and labels are in none."""

    packages: tuple[str, ...]
    """What may be a package."""
    links: tuple[str, ...] = ()
    """Not followed, for several are named."""
    strays: tuple[str, ...] = ()
    """Files that no archive is, such as lists of a delivery."""


def parted(named: Sequence[str]) -> Parted:
    """Part the names of a command line.

    Where nothing but strays is named they count as packages, so that their fault is told. Raises
    UsageError if nothing is left.
    """
    rest = without_beside(named)
    # Danger: on a stranger's drive a pattern names links that lead anywhere.
    links = tuple(one for one in rest if len(rest) > 1 and Path(one).is_symlink())
    rest = [one for one in rest if one not in links]
    if not rest:
        raise UsageError("Nothing but links is named.", "Name one alone to have it followed.")
    strays = tuple(one for one in rest if is_no_archive(Path(one)))
    if len(strays) == len(rest):
        return Parted(packages=strays, links=links)
    packages = tuple(one for one in rest if one not in strays)
    return Parted(packages=packages, links=links, strays=strays)


def without_beside(named: Sequence[str]) -> list[str]:
    """Leave out receipts, digests and labels. Raises UsageError if nothing else is named."""
    rest = [one for one in named if not _is_file(one, _BESIDE)]
    if not rest:
        raise UsageError(
            f"{printable(named[0])} lies beside a package and is not one.", "Name the package."
        )
    return rest


def proves_another(name: str) -> bool:
    """Tell whether a name is that of a receipt or digest."""
    return _is_file(name, _PROOF)


def _is_file(name: str, endings: tuple[str, ...]) -> bool:
    return name.endswith(endings) and Path(name).is_file()


def is_no_archive(path: Path) -> bool:
    """Tell whether a name is that of a file that no archive is; what cannot be read may be one."""
    try:
        if not path.is_file():
            return False
        with path.open("rb") as stream:
            form_of(stream.read(HEAD_OCTETS), path.name)
    except OSError:
        return False
    except UsageError:
        return True
    return False
