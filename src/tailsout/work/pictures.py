"""Pictures for the report of a package: made anew, never a file that somebody packed."""

from pathlib import Path

from tailsout.mapping import naming
from tailsout.records.dossier import Dossier
from tailsout.views.report.bench import PLOT

MOST_PLOTS = 4
"""Calibration tapes whose response is drawn."""


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
