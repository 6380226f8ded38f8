"""A job to take the time by: one stereo capture of sound like programme, by `programme.py`."""

import os
import subprocess
import sys
from pathlib import Path

_FORM = """job_id = "00000000-0000-4000-8000-000000000001"
package_id = "BENCH-1"
studio = "../studio"

[reel]
title = "A reel to take the time by"
diameter_in = 10.5

[[reel.sides]]
id = "A"

[[reel.sides.regions]]
id = "A1"
kind = "line-up tone"
capture = "a"
start = "0:00"
end = "0:20"
speed_ips = 7.5

[[reel.sides.regions]]
id = "A2"
kind = "programme"
capture = "a"
start = "0:20"
speed_ips = 7.5
equalisation = {{ standard = "NAB", t1_us = 3180, t2_us = 50 }}
tracks = "half-track stereo"

[[passes]]
id = "p1"
sides = ["A"]

[[captures]]
id = "a"
file = "captures/a-{seconds}.wav"
pass_id = "p1"
started = 2026-03-14

[[signal_notes]]
capture = "a"
start = "0:30"
end = "0:40"
heard = "a crackle that comes and goes"
lives_in = "undecided"
"""


def made(folder: Path, seconds: int) -> Path:
    """Write a studio and a job of so many seconds, unless its capture stands there."""
    job = folder / f"job-{seconds}"
    capture = job / "captures" / f"a-{seconds}.wav"
    capture.parent.mkdir(parents=True, exist_ok=True)
    (folder / "studio").mkdir(exist_ok=True)
    (folder / "studio" / "studio.toml").write_text('name = "Saltpan Row"\n', encoding="utf-8")
    (job / "job.toml").write_text(_FORM.format(seconds=seconds), encoding="utf-8")
    if not capture.exists():
        script = Path(__file__).with_name("programme.py")
        subprocess.run([sys.executable, script, "programme", str(seconds), capture], check=True)
    os.utime(capture, (1_700_000_000, 1_700_000_000))
    return job
