"""The packages among the names on a command line; what is passed over is said."""

from collections.abc import Sequence
from pathlib import Path

import click

from tailsout.ground.units import printable

_MOST_NAMED = 5


def packages_in(named: Sequence[str]) -> list[str]:
    """Return what may be a package. Raises UsageError if nothing may."""
    from tailsout.work.named_packages import parted  # noqa: PLC0415  help must not wait for it

    found = parted(named)
    if found.links:
        _say("being links that are followed only where one is named alone", found.links)
    if found.strays:
        _say("being no packages", found.strays)
    return list(found.packages)


def _say(why: str, names: Sequence[str]) -> None:
    shown = [printable(Path(one).name) for one in names[:_MOST_NAMED]]
    shown += [f"{len(names) - _MOST_NAMED} more"] if len(names) > _MOST_NAMED else []
    click.echo(f"Passed over, {why}: {', '.join(shown)}.", err=True)
