"""Makes the pictures that the README shows: `python tests/pictures/make.py`.

The top of a report is that of a kept package, the drawing of a capture that of the demo's, which is
longer. Needs Debian's package chromium. The pictures lie beside this module.
"""

import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image
from rendering import screenshot

from tailsout.ground.progress import Silent
from tailsout.work.report import report

HERE = Path(__file__).resolve().parent
SAMPLE = HERE.parents[1] / "sample_packages/good/skerrow-light/package"
WIDTH, HEIGHT = 1000, 2560
DRAWN_HEIGHT = 660


def make(folder: Path) -> None:
    """Write both pictures."""
    with tempfile.TemporaryDirectory() as place:
        page = Path(place) / "report.html"
        page.write_bytes(report(SAMPLE, Silent()))
        picture(page, folder / "report.png", height=HEIGHT, shades=16)
        demo = Path(place) / "demo"
        command = [sys.executable, "-m", "tailsout", "demo", str(demo)]
        subprocess.run(command, check=True, capture_output=True)
        whole = (demo / "packages/SKL-0007/metadata/report.html").read_text("utf-8")
        page.write_text(first_capture(whole), "utf-8")
        picture(page, folder / "capture.png", height=DRAWN_HEIGHT, shades=40)


def first_capture(page: str) -> str:
    """Return a page with nothing but the drawing of the first file along its time."""
    head = page[: page.index("<header>")]
    start = page.index("<figure>", page.index('aria-labelledby="sound"'))
    end = page.index("</figure>", start)
    return f"{head}<main>{page[start:end]}</figure></main></body></html>"


def picture(page: Path, path: Path, *, height: int, shades: int) -> None:
    """Write a page as a PNG of few shades, which stays small."""
    raw = page.with_suffix(".png")
    screenshot(page, raw, width=WIDTH, height=height)
    with Image.open(raw) as shown:
        few = shown.convert("P", palette=Image.Palette.ADAPTIVE, colors=shades)
        few.save(path, optimize=True)


if __name__ == "__main__":
    make(HERE)
