"""Which of the names on a command line are packages: a pattern names what lies beside them too."""

from collections.abc import Sequence
from pathlib import Path

import click

from tailsout.ground.errors import UsageError
from tailsout.ground.units import counted, printable

_BESIDE = (".receipt.json", ".sha512")
_MOST_NAMED = 5


def packages_in(named: Sequence[str]) -> list[str]:
    """Return what may be a package: neither receipts and digests nor files that are no archives.

    The latter are lists of a delivery, labels, notes, and it is said that they are passed over;
    where nothing else is named they are not, so that their fault is told. Raises UsageError if
    only receipts and digests are named.
    """
    rest = [one for one in named if not lies_beside(one)]
    if not rest:
        raise UsageError(
            f"{printable(named[0])} lies beside a package and is none.", "Name the package."
        )
    strays = [one for one in rest if _is_no_archive(Path(one))]
    if len(strays) == len(rest):
        return rest
    if strays:
        shown = [printable(Path(one).name) for one in strays[:_MOST_NAMED]]
        shown += [f"{len(strays) - _MOST_NAMED} more"] if len(strays) > _MOST_NAMED else []
        files = counted(len(strays), "file")
        click.echo(f"Passed over, being no packages: {files} ({', '.join(shown)}).", err=True)
    return [one for one in rest if one not in strays]


def lies_beside(name: str) -> bool:
    """Tell whether a name is that of a receipt or digest."""
    return name.endswith(_BESIDE) and Path(name).is_file()


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
