"""How each figure of `AudioFacts` was measured: a number without its method proves nothing."""

from collections.abc import Mapping

METHODS: Mapping[str, str] = {
    "bandwidth_hz": (
        "Highest frequency at which the mean spectrum stands 6 dB above the spectrum of the"
        " quietest seconds that are not below the tape's own hiss, both smoothed over 300 Hz"
        " (common practice); where none are 10 dB quieter than the whole, above the lowest part"
        " of the mean spectrum."
    ),
    "brick_wall_hz": (
        "Steepest edge between 6 kHz and 0.44 of the sample rate over which the mean spectrum"
        " falls by 18 dB within 500 Hz and does not come back (common practice): perhaps a"
        " lossy or low-rate ancestor; evidence, not proof."
    ),
    "channels.clipped_runs": (
        "Runs of three or more consecutive samples at full scale of the valid bits, all on the"
        " same side; in float audio, at or beyond ±1.0 on either side (common practice)."
    ),
    "channels.crest_db": "Sample peak over root mean square of all samples; of a sine 3.01 dB.",
    "channels.dc_offset_dbfs": (
        "Size of the mean of all samples, in dB re full scale (common practice); none below"
        " -200 dB."
    ),
    "channels.digital_silence_samples": (
        "Samples in stretches of 1.25 ms that hold nothing but zeros."
    ),
    "channels.dropouts": (
        "Falls of 5 ms or so and more in steady sound (own method): 5 dB below the mean of the"
        " 100 ms before and of the 100 ms after, 4 dB below the lowest of them, edges within 5 ms,"
        " back within 200 ms; levels of 5 ms of the differences from one sample to the next, which"
        " on either side stay within 4 dB of their mean, the means alike to 4 dB. In speech and"
        " lively music many go unseen, as do those within 100 ms of another; sounds that are really"
        " interrupted count."
    ),
    "channels.effective_bits": (
        "Bits from the top down to the lowest that is ever set, all samples taken together by"
        " logical or; integers only."
    ),
    "channels.flat_tops": (
        "Runs of three or more equal samples at the channel's own highest or lowest value,"
        " below full scale, whose neighbours lie more than four quantising steps away (common"
        " practice). On a flat transfer this may be the recording."
    ),
    "channels.noise_floor_dbfs": (
        "Variance of the quietest half second whose tenths lie within 6 dB of each other, moved by"
        " 0.1 s within whole seconds, mean of each tenth taken away; digital silence is left out."
        " In dB re the root mean square of a full-scale sine (AES17, IEC 61606-3)."
    ),
    "channels.rms_dbfs": (
        "Root mean square of all samples in dB re that of a full-scale sine (AES17, IEC"
        " 61606-3), so that a full-scale sine reads 0 dBFS as peak and as RMS."
    ),
    "channels.sample_peak_dbfs": "Largest magnitude of all samples, in dB re full scale.",
    "channels.true_peak_dbtp": (
        "Largest magnitude after interpolation (ITU-R BS.1770-5 Annex 2): four times the sample"
        " rate, twice from 176.4 kHz on; Kaiser-windowed sinc of 48 taps a phase."
    ),
    "dropouts_a_minute": "Dropouts of the channel that has most, by the length of the file.",
    "essence_sha256": "SHA-256 (FIPS 180-4) of the payload octets of the data chunk as declared.",
    "gaps.kind": (
        "Levels of 20 ms of the loudest channel. Digital silence: all zeros for 0.5 s. Quiet as"
        " leader: 0.5 s below a gulf of 6 dB that parts the quietest levels from the rest."
        " Pause: 2 s within 6 dB of the quietest twentieth of the rest (common practice)."
        " Proposals."
    ),
    "gaps.level_dbfs": (
        "Mean power of the stretch, in dB re the root mean square of a full-scale sine, from"
        " levels in steps of 0.5 dB."
    ),
    "hum.frequency_hz": (
        "Base that all harmonics up to the tenth share, weighed by number and by how far they"
        " stand out; looked for within 4 % of 50 and of 60 Hz on steady windows of four seconds"
        " below -40 dBFS, the quietest six of each 6 dB of level, in their median spectrum"
        " (common practice). Evidence, not proof."
    ),
    "hum.levels": (
        "Power of the harmonics that stand 10 dB above the median of 8 Hz around them, added"
        " up, in dB re the root mean square of a full-scale sine."
    ),
    "hum_ratio": (
        "Frequency of the family farther from its mains frequency by that of the nearer one:"
        " replay speed by recording speed if the one was recorded and the other comes from the"
        " chain. Evidence, not proof."
    ),
    "integrated_lufs": (
        "Gated loudness (ITU-R BS.1770-5 Annex 1, EBU R 128): blocks of 400 ms every 100 ms,"
        " gates at -70 LUFS and 10 LU below the ungated mean."
    ),
    "lines": (
        "Lines within 0.3 % of 15,625 and 15,734 Hz (television) and of 19 kHz (stereo pilot)"
        " that stand 10 dB out of the mean spectrum (common practice)."
    ),
    "momentary_max_lufs": (
        "Maximum momentary loudness (EBU Tech 3341 v4): window of 400 ms moved by 10 ms."
    ),
    "non_finite_samples": (
        "Count of NaN and infinite samples, and of any beyond ±2**100; each was measured as zero."
    ),
    "pairs.balance_db": "Root mean square of the second channel by that of the first.",
    "pairs.coherence": (
        "Size of the cross-spectrum by the geometric mean of the spectra, squared, ten spectra"
        " a second, mean of all seconds weighed by level."
    ),
    "pairs.correlation": (
        "Mean product of the samples by the product of their root mean squares, at no delay."
    ),
    "pairs.delay_seconds": "Seconds in which enough of the spectrum is coherent for a delay.",
    "pairs.delay_spread_us": (
        "Half the distance between the 16th and the 84th percentile of the delays of all seconds."
    ),
    "pairs.delay_us": (
        "Median over seconds. Of each: largest point of the cross-spectrum's phase transform (Knapp"
        " and Carter 1976) within 2 ms, from 100 Hz to 20 kHz where the channels cohere, then the"
        " slope of the phase that is left, weighed by coherence. Positive if the second channel is"
        " late. Both channels are taken to be alike; heads and tape add phase of their own."
    ),
    "pairs.is_dual_mono": (
        "Identical, or within 0.5 dB of each other with a coherence of 0.95 or more (common"
        " practice)."
    ),
    "pairs.is_identical": "No sample differs, to 24 bits, and not all are zero.",
    "pairs.is_inverted": "Correlation below -0.2 (common practice): possibly an inverted leg.",
    "pairs.may_be_a_cycle_out": (
        "Another delay within 2 ms fits the phases of all seconds, 1 to 8 kHz, at least 0.8 times"
        " as well, or a quarter of the seconds lie more than half a period of the shared band"
        " away (common practice). Common where only a narrow band is shared."
    ),
    "pairs.rival_delay_us": (
        "The delay, more than 0.6 of a period of the shared band away, that fits the phases of"
        " all seconds best, if at least 0.8 times as well as the one told."
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

ECHO_METHODS: Mapping[str, str] = {
    "print_through": (
        "Sounds out of quiet, 0.4 to 4 kHz, correlated with the quiet before (after) them over the"
        " turn times that the reel allows; told where the highest correlation stands out 8-fold."
        " Possible echoes, never a verdict (own method)."
    ),
}
"""Of what is looked for only where a reel is known."""

OVERVIEW_METHODS: Mapping[str, str] = {
    "overview.channels": (
        "Columns of 0.1 s, each two neighbours made one until they are no more than 2048, then by"
        " the smallest whole number until they are no more than 600: lowest and highest sample and"
        " root mean square of each, in ten-thousandths of full scale (own method)."
    ),
    "overview.spectrogram": (
        "Power in 128 bands of equal steps from 20 Hz to half the sample rate, mean of the"
        " channels, re a full-scale sine; columns of the same kind but no more than 300, their"
        " mean; of each two bands the louder (own method)."
    ),
}
"""Of what a side-car keeps for drawing."""
