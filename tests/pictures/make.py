"""Makes the pictures that the README shows, of a kept package: `python tests/pictures/make.py`.

Needs Debian's package chromium. The pictures lie beside this module.
"""

import shutil
import tempfile
from pathlib import Path

from PIL import Image
from rendering import screenshot

from tailsout.ground.progress import Silent
from tailsout.work.report import report

HERE = Path(__file__).resolve().parent
SAMPLE = HERE.parents[1] / "sample_packages/good/skerrow-light/package"
NAME = "SKL-0008"
WIDTH, HEIGHT = 1000, 2560


def make(folder: Path) -> None:
    """Write the picture of the report as a grey PNG of few shades, which stays small."""
    with tempfile.TemporaryDirectory() as place:
        page, raw = Path(place) / "report.html", Path(place) / "report.png"
        package = shutil.copytree(SAMPLE, Path(place) / NAME)
        page.write_bytes(report(package, Silent()))
        screenshot(page, raw, width=WIDTH, height=HEIGHT)
        with Image.open(raw) as picture:
            picture.convert("P", palette=Image.Palette.ADAPTIVE, colors=16).save(
                folder / "report.png", optimize=True
            )


if __name__ == "__main__":
    make(HERE)
