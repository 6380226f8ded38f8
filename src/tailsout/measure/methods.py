"""How each figure of `AudioFacts` was measured: a number without its method proves nothing."""

from collections.abc import Mapping

METHODS: Mapping[str, str] = {
    "channels.clipped_runs": (
        "Runs of three or more consecutive samples at full scale of the valid bits, all on the"
        " same side; in float audio, at or beyond ±1.0 on either side (common practice)."
    ),
    "channels.dc_offset_dbfs": (
        "Size of the mean of all samples, in dB re full scale (common practice); none below"
        " -200 dB."
    ),
    "channels.sample_peak_dbfs": "Largest magnitude of all samples, in dB re full scale.",
    "channels.true_peak_dbtp": (
        "Largest magnitude after interpolation (ITU-R BS.1770-5 Annex 2): four times the sample"
        " rate, twice from 176.4 kHz on; Kaiser-windowed sinc of 48 taps a phase."
    ),
    "essence_sha256": "SHA-256 (FIPS 180-4) of the payload octets of the data chunk as declared.",
    "integrated_lufs": (
        "Gated loudness (ITU-R BS.1770-5 Annex 1, EBU R 128): blocks of 400 ms every 100 ms,"
        " gates at -70 LUFS and 10 LU below the ungated mean."
    ),
    "momentary_max_lufs": (
        "Maximum momentary loudness (EBU Tech 3341 v4): window of 400 ms moved by 10 ms."
    ),
    "non_finite_samples": (
        "Count of NaN and infinite samples, and of any beyond ±2**100; each was measured as zero."
    ),
    "range_lu": (
        "Loudness range (EBU Tech 3342): 10th to 95th percentile of short-term loudness every"
        " 100 ms, gates at -70 LUFS and 20 LU below the ungated mean."
    ),
    "sample_peak_dbfs": "The highest of the channels.",
    "short_term_max_lufs": (
        "Maximum short-term loudness (EBU Tech 3341 v4): window of 3 s moved by 100 ms."
    ),
    "true_peak_dbtp": "The highest of the channels.",
}
"""By key of the facts; those that need no method are left out. Every figure in dB or LU is rounded
to 0.01."""
