"""The option `--plots DIR`, the same of every command that measures."""

from pathlib import Path
from typing import TYPE_CHECKING

from tailsout.doors.cli import printing
from tailsout.ground.units import printable

if TYPE_CHECKING:
    from tailsout.measure.line_up import ToneReading
    from tailsout.measure.onepass import Measured


def refuse(folder: Path, file: Path, *, of_tones: bool) -> None:
    """See to it, before the work, that the plots of a file can be written as new ones.

    Raises UsageError, RefusedError, SurroundingsError.
    """
    from tailsout.bag.disk import Disk  # noqa: PLC0415  help must not wait for it
    from tailsout.work import plot  # noqa: PLC0415

    plot.refuse_written(folder, file, plot.OF_TONES if of_tones else plot.OF_SOUND, Disk())


def sound(folder: Path, file: Path, measured: "Measured") -> tuple[Path, ...]:
    """Write the plots of a file. Raises RefusedError, SurroundingsError."""
    from tailsout.bag.disk import Disk  # noqa: PLC0415  help must not wait for it
    from tailsout.work import plot  # noqa: PLC0415

    return plot.write(folder, file, plot.of_sound(file, measured), Disk())


def tones(folder: Path, file: Path, reading: "ToneReading") -> tuple[Path, ...]:
    """Write the plots of line-up tones. Raises RefusedError, SurroundingsError."""
    from tailsout.bag.disk import Disk  # noqa: PLC0415  help must not wait for it
    from tailsout.work import plot  # noqa: PLC0415

    return plot.write(folder, file, plot.of_tones(file, reading), Disk())


def say(drawn: tuple[Path, ...] | None) -> None:
    """Tell which plots were written; `drawn` is None where none was asked for."""
    if drawn == ():
        printing.say("  plot        none: so many channels are not drawn")
    for path in drawn or ():
        printing.say(f"  plot        {printable(str(path))}")
