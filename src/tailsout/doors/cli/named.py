"""Which of the names on a command line are packages: a pattern names what lies beside them too."""

from collections.abc import Sequence
from pathlib import Path

import click

from tailsout.ground.errors import UsageError
from tailsout.ground.units import printable
from tailsout.mapping import naming

_PROOF = (naming.RECEIPT_BESIDE, ".sha512")
_BESIDE = (*_PROOF, naming.LABEL_BESIDE)
"""Endings of what is written beside packages by this program."""
_MOST_NAMED = 5


def packages_in(named: Sequence[str]) -> list[str]:
    """Return what may be a package: no receipt, digest or label, and no file that is no archive.

    Files of the last sort, such as lists of a delivery, are passed over, which is said; where
    nothing else is named they are not, so that their fault is told. Links are passed over where
    there are several names. Raises UsageError if nothing but links and the former is named.
    """
    rest = without_beside(named)
    # Danger: on a stranger's drive a pattern names links that lead anywhere.
    links = [one for one in rest if len(rest) > 1 and Path(one).is_symlink()]
    if links:
        _say_passed_over("being links that are followed only where one is named alone", links)
    rest = [one for one in rest if one not in links]
    if not rest:
        raise UsageError("Nothing but links is named.", "Name one alone to have it followed.")
    strays = [one for one in rest if _is_no_archive(Path(one))]
    if len(strays) == len(rest):
        return rest
    if strays:
        _say_passed_over("being no packages", strays)
    return [one for one in rest if one not in strays]


def without_beside(named: Sequence[str]) -> list[str]:
    """Leave out receipts, digests and labels. Raises UsageError if nothing else is named."""
    rest = [one for one in named if not _is_file(one, _BESIDE)]
    if not rest:
        raise UsageError(
            f"{printable(named[0])} lies beside a package and is none.", "Name the package."
        )
    return rest


def _say_passed_over(why: str, names: Sequence[str]) -> None:
    shown = [printable(Path(one).name) for one in names[:_MOST_NAMED]]
    shown += [f"{len(names) - _MOST_NAMED} more"] if len(names) > _MOST_NAMED else []
    click.echo(f"Passed over, {why}: {', '.join(shown)}.", err=True)


def proves_another(name: str) -> bool:
    """Tell whether a name is that of a receipt or digest."""
    return _is_file(name, _PROOF)


def _is_file(name: str, endings: tuple[str, ...]) -> bool:
    return name.endswith(endings) and Path(name).is_file()


def _is_no_archive(path: Path) -> bool:
    """Tell whether a name is that of a file that no archive is; what cannot be read may be one."""
    from tailsout.bag.archive.form import HEAD_OCTETS, form_of  # noqa: PLC0415  help must not wait

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
