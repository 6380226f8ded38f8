"""A page as Debian's Chromium shows it: as a picture, on paper, and asked by a script.

The browser is started alone, in a folder that vanishes, and told to ask no network for anything.
"""

import re
import subprocess
import tempfile
from pathlib import Path

BROWSER = (
    "chromium",
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
    "--force-color-profile=srgb",
)
_POLICY = re.compile(r'<meta http-equiv="Content-Security-Policy"[^>]*>')


def screenshot(page: Path, picture: Path, *, width: int, height: int) -> None:
    """Write what the top of a page looks like as a PNG."""
    _run(f"--window-size={width},{height}", f"--screenshot={picture}", _address(page))


def printed(page: Path, document: Path) -> None:
    """Write a page as it is printed, as a PDF."""
    _run("--no-pdf-header-footer", f"--print-to-pdf={document}", _address(page))


def asked(page: Path, script: str, *, width: int = 1000) -> str:
    """Return what a script says of a page; it calls `tell(text)` when it is done.

    The page runs no script by itself: its policy is taken out of a copy, which is shown in a frame
    of so many pixels, for no window is as narrow as a telephone.
    """
    with tempfile.TemporaryDirectory() as place:
        inner = Path(place) / "page.html"
        told = "<script>function tell(t){parent.postMessage(t,'*')}</script>"
        ours = f"{told}<script>{script}</script></body>"
        text = _POLICY.sub("", page.read_text("utf-8"))
        inner.write_text(text.replace("</body>", ours), "utf-8")
        outer = Path(place) / "frame.html"
        outer.write_text(
            "<body><script>addEventListener('message',e=>{const p=document.createElement('pre');"
            "p.textContent=encodeURIComponent(e.data);document.body.append(p)})</script>"
            f'<iframe src="page.html" width="{width}" height="900" style="border:0"></iframe>',
            "utf-8",
        )
        dom = _run("--virtual-time-budget=30000", "--dump-dom", _address(outer))
    from urllib.parse import unquote  # noqa: PLC0415  only what was asked comes quoted

    found = re.search("<pre>([^<]*)</pre>", dom)
    return unquote(found[1]) if found else ""


def _address(page: Path) -> str:
    return page.resolve().as_uri()


def _run(*arguments: str) -> str:
    with tempfile.TemporaryDirectory() as profile:
        done = subprocess.run(
            [*BROWSER, f"--user-data-dir={profile}", *arguments],
            capture_output=True,
            text=True,
            timeout=120,
            check=True,
        )
    return done.stdout
