"""Real recordings from ordinary Debian packages are closed out and come back sample for sample.

`alsa-utils` (speech, 48 kHz mono 16 bit; as installed below /usr/share/sounds/alsa) and
`sonic-pi-samples` (music and noise, 44.1 kHz stereo, FLAC, turned into 24-bit wave by libsndfile).
Nothing of them is kept.
"""

import os
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tailsout.ground.findings import Severity, Verdict
from tailsout.work.check import check
from tailsout.work.close_out import close
from tailsout.work.surroundings import Surroundings

pytestmark = pytest.mark.apt

_SPEECH = Path("/usr/share/sounds/alsa")
_MUSIC = Path("/usr/share/sonic-pi/samples")
_FILES = (
    _SPEECH / "Front_Center.wav",
    _SPEECH / "Rear_Left.wav",
    _SPEECH / "Noise.wav",
    _MUSIC / "loop_amen.flac",
    _MUSIC / "vinyl_hiss.flac",
    _MUSIC / "ambi_choir.flac",
)

_ASKED = {
    # Low-passed at 20 kHz or so before they were published.
    "Front_Center": {"brick-wall"},
    "Noise": {"brick-wall"},
    # 16 bits that are written here into 24.
    "loop_amen": {"bits-unused", "brick-wall"},
    # Noise of a groove that a stylus reads up and down: its channels are opposite.
    "vinyl_hiss": {"bits-unused", "channel-perhaps-inverted"},
    "ambi_choir": {"bits-unused"},
}
"""What is rightly asked about a recording; about others nothing is."""


def _job(folder: Path, source: Path) -> Path:
    capture = folder / "job" / "captures" / f"{source.stem}.wav"
    capture.parent.mkdir(parents=True)
    if source.suffix == ".wav":
        capture.write_bytes(source.read_bytes())
    else:
        samples, rate = soundfile.read(source, dtype="int32")
        soundfile.write(capture, samples, rate, subtype="PCM_24")
    os.utime(capture, (0, 0))
    (folder / "studio").mkdir()
    (folder / "studio" / "studio.toml").write_text('name = "Saltpan Row"\n', "utf-8")
    (folder / "job" / "job.toml").write_text(
        'job_id = "00000000-0000-4000-8000-000000000002"\n'
        'package_id = "real"\nstudio = "../studio"\n'
        f'[[captures]]\nid = "c"\nfile = "captures/{capture.name}"\nstarted = "not recorded"\n',
        "utf-8",
    )
    return capture


@pytest.mark.parametrize("source", _FILES, ids=lambda path: path.stem)
def test_recording_is_closed_out(source: Path, tmp_path: Path, around: Surroundings) -> None:
    if not source.exists():
        pytest.skip(f"{source} is not installed")
    capture = _job(tmp_path, source)
    outcome = close(tmp_path / "job", tmp_path / "out", around)
    assert outcome.built is not None, outcome.judgement.findings
    judgement = check(outcome.built.path, around.progress).judgement
    asked = {f.code for f in judgement.findings if f.severity is Severity.QUERY}
    assert asked == _ASKED.get(source.stem, set())
    assert judgement.verdict is (Verdict.OPEN if asked else Verdict.PASS)
    master = outcome.built.path / "data" / "audio" / capture.name
    before, rate = soundfile.read(capture, dtype="int32", always_2d=True)
    after, new_rate = soundfile.read(master, dtype="int32", always_2d=True)
    assert rate == new_rate
    assert np.array_equal(before, after)
