"""The shape of linear PCM audio."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Pcm:
    """How samples lie in the `data` chunk of a wave file: interleaved, little-endian."""

    is_float: bool
    sample_rate_hz: int
    channels: int
    container_bits: int
    """Bits a sample takes on disk: a multiple of 8."""
    valid_bits: int
    """Bits of it that count, left-justified; at most `container_bits`."""
    channel_mask: int | None = None
    """Loudspeaker positions of WAVE_FORMAT_EXTENSIBLE, where stated."""

    @property
    def frame_octets(self) -> int:
        """Octets of one sample of every channel (`wBlockAlign`)."""
        return self.channels * (self.container_bits // 8)

    @property
    def coding(self) -> str:
        """In words: `24-bit PCM`, `32-bit float`."""
        if self.is_float:
            return f"{self.container_bits}-bit float"
        if self.valid_bits != self.container_bits:
            return f"{self.valid_bits}-in-{self.container_bits}-bit PCM"
        return f"{self.valid_bits}-bit PCM"
