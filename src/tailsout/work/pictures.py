"""Pictures for the report of a package: made anew, never a file that somebody packed."""

from collections.abc import Callable
from contextlib import suppress
from io import BufferedReader, UnsupportedOperation
from itertools import islice
from pathlib import Path

from tailsout.bag.readable import ReadableBag
from tailsout.ground.errors import MaterialError, SurroundingsError
from tailsout.mapping import naming
from tailsout.records.dossier import Dossier
from tailsout.views.report.bench import PLOT
from tailsout.views.report.identity import images, photograph_key
from tailsout.work.limited import small_picture

Opens = Callable[[str], BufferedReader | None]
"""Opens a file of the payload by its path in the package; None where there is none."""

MOST_PLOTS = 4
"""Calibration tapes whose response is drawn."""
MOST_PHOTOGRAPHS = 10
"""Photographs that are shown; the others are named."""


def of_report(dossier: Dossier, opens: Opens) -> dict[str, bytes]:
    """Return every picture of a report, by the key under which the page looks for it."""
    return {**plots(dossier), **photographs(dossier, opens)}


def photographs(dossier: Dossier, opens: Opens) -> dict[str, bytes]:
    """Make photographs small, each in a process of its own: a stranger may have made them."""
    found: dict[str, bytes] = {}
    for path in islice(images(dossier), MOST_PHOTOGRAPHS):
        # Without a descriptor, as in an archive, a process cannot be given it.
        with suppress(MaterialError, SurroundingsError, UnsupportedOperation):
            stream = opens(path)
            small = b""
            if stream is not None:
                with stream:
                    small = small_picture(stream)
            if small:
                found[photograph_key(path)] = small
    return found


def in_bag(bag: ReadableBag) -> Opens:
    """Return what opens the files that a bag holds, and no other."""
    held = {file.path for file in bag.facts.files}
    return lambda path: bag.stream(path) if path in held else None


def plots(dossier: Dossier) -> dict[str, bytes]:
    """Draw what was read of calibration tapes, by where the plot lies in the package."""
    read = [one for one in dossier.calibrations if one.tones is not None][:MOST_PLOTS]
    if not read:
        return {}
    from tailsout.views.plots import response  # noqa: PLC0415  the library is heavy

    return {
        naming.tone_plot_path(one, PLOT): response.draw(
            one.tones, title=Path(one.file).name, kind="svg"
        )
        for one in read
        if one.tones is not None
    }
