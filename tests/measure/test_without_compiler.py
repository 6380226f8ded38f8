"""The kernels as plain Python give the figures that they give compiled."""

import json
import os
import subprocess
import sys
from typing import Any

CODE = """
import io, json, random, sys
from tailsout.ground.pcm import Pcm
from tailsout.mapping.plain import plain
from tailsout.measure.onepass import measure
from tailsout.measure.kernels import compiled
import msgspec
import numba

chance = random.Random(7)
frames = 9000
whole = bytearray()
for n in range(frames):
    for channel in range(2):
        loud = 2**22 if 2000 < n < 4000 else 2**14
        value = max(-2**23, min(2**23 - 1, round(chance.gauss(0, loud))))
        value = 2**23 - 1 if 3000 <= n < 3005 else value
        whole += (value & 0xFFFFFF).to_bytes(3, "little")
pcm = Pcm(is_float=False, sample_rate_hz=8000, channels=2, container_bits=24, valid_bits=24)
found = measure(
    io.BytesIO(bytes(whole)), pcm, data_offset=0, data_octets=len(whole),
    file_octets=len(whole), advance=lambda _: None, turns=(0.5, 0.9),
)
told = {"facts": plain(found.facts), "echoes": plain(found.print_through)}
sys.stdout.write(msgspec.json.encode(told).decode())
sys.stderr.write(str(numba.config.DISABLE_JIT))
"""


def measured(*, disabled: bool) -> tuple[Any, str]:
    ran = subprocess.run(
        [sys.executable, "-c", CODE],
        capture_output=True,
        check=True,
        timeout=60,
        env={**os.environ, "NUMBA_DISABLE_JIT": "1" if disabled else "0"},
    )
    return json.loads(ran.stdout), ran.stderr.decode()[-1:]


def test_the_same_figures_without_the_compiler() -> None:
    compiled, on = measured(disabled=False)
    plain, off = measured(disabled=True)
    assert (on, off) == ("0", "1")
    assert plain == compiled
    assert plain["facts"]["channels"][0]["clipped_runs"] == 1
