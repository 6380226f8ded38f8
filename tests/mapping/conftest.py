"""Small transfers, made from the records themselves."""

from decimal import Decimal
from typing import Any

import pytest

from tailsout.ground.pcm import Pcm
from tailsout.records.capture import Capture
from tailsout.records.chain import Chain, ChainStep
from tailsout.records.machine import Machine
from tailsout.records.playing import Pass, SetUp
from tailsout.records.reel import Equalisation, Identifier, Reel, Region, Side
from tailsout.records.sound import AudioFacts
from tailsout.records.transfer import Studio, Transfer
from tailsout.records.vocab import RegionKind


class Maker:
    """Makes records; what is given goes before what is usual."""

    job_id = "5f0c7a52-3f5e-4c0e-9a53-6d1f5f3b2c07"
    nab = Equalisation(standard="NAB", t1_us=Decimal(3180), t2_us=Decimal(50))
    capture = Capture(id="side-a", file="captures/skl7-side-a.wav", pass_id="p1")  # noqa: S106  a tape's pass
    recorder = ChainStep(kind="recorder", device="Groyne recorder 4.2", signal="digital")
    converter = ChainStep(kind="converter", device="Thwart C2", serial="C2-118", signal="digital")

    def pcm(self, channels: int = 2, rate: int = 96_000, bits: int = 24) -> Pcm:
        return Pcm(
            is_float=False,
            sample_rate_hz=rate,
            channels=channels,
            container_bits=bits,
            valid_bits=bits,
        )

    def facts(self, **more: Any) -> AudioFacts:
        usual = {"frames": 1, "sample_rate_hz": 96_000, "essence_sha256": "", "channels": ()}
        return AudioFacts(**{**usual, **more})

    def region(self, start: int, **more: Any) -> Region:
        kind: RegionKind = "programme"
        usual = {"id": f"r{start}", "kind": kind, "capture": "side-a", "start": start}
        return Region(**{**usual, **more})

    def machine(self, **more: Any) -> Machine:
        usual = {"id": "mk3", "maker": "Tidewright", "model": "Mark 3", "serial": "0412"}
        return Machine(**{**usual, **more})

    def one_pass(self, **more: Any) -> Pass:
        return Pass(**{"id": "p1", "machine": "mk3", "set_up": SetUp(), **more})

    def chain(self, *steps: ChainStep) -> Chain:
        return Chain(steps=steps)

    def transfer(self, *regions: Region, **more: Any) -> Transfer:
        identifiers = tuple(Identifier(value=one) for one in more.pop("identifiers", ()))
        sides = (Side(id="A", regions=regions),) if regions else ()
        usual = {
            "job_id": self.job_id,
            "package_id": "SKL-0007",
            "studio": Studio(name="Saltpan Row"),
            "reel": Reel(title=more.pop("title", None), identifiers=identifiers, sides=sides),
            "machines": (self.machine(),),
            "passes": (self.one_pass(),),
            "captures": (self.capture,),
        }
        return Transfer(**{**usual, **more})


@pytest.fixture(scope="session")
def make() -> Maker:
    return Maker()
