"""How each figure of `ToneFacts` was measured."""

from collections.abc import Mapping

TONE_METHODS: Mapping[str, str] = {
    "channels.azimuth": (
        "Straight line of phase through zero over all tones, by least squares; whole cycles by the"
        " delay that leaves least. Angle atan(v·Δt ÷ s) for the spacing of the tracks; both"
        " channels are taken to be alike, and real ones add phase of their own."
    ),
    "channels.balance_db": "Difference of the levels of the reference tone.",
    "channels.reference_dbfs": (
        "Level of the tone that the certificate calls the reference; without one of the first"
        " tone between 250 and 1100 Hz."
    ),
    "channels.response": (
        "Least squares over the deviations from 400 Hz up: a time constant (IEC 60094-1 cl. 15, the"
        " formula from memory) and a spacing (Wallace, from memory) with a free level. A model, not"
        " a verdict: gap and azimuth have shapes of their own."
    ),
    "fit": (
        "Tones are matched by order and frequency, one ratio of speed within 4 % for all and 1.5 %"
        " each beside it; half of the list or a stretch of it must be found (own method)."
    ),
    "flutter.drift_percent": "Rise of the straight line through the speed.",
    "flutter.lines": (
        "Hann-windowed spectrum of the speed; peaks of more than four times the median around. A"
        " part that turns once a swing measures v ÷ (π·f); sizes of parts are common practice."
    ),
    "flutter.unweighted_rms_percent": "Root mean square of the speed's deviation, 0.3 to 200 Hz.",
    "flutter.weighted_percent": (
        "Weighted after IEC 60386 and AES6-2008 (table as transcribed by others); 2-sigma style:"
        " what the size of the deviation passes for 5 % of the time. Not the standards' own meter;"
        " dropouts are bridged."
    ),
    "flutter.weighted_rms_percent": "Root mean square of the same.",
    "speed_error_percent": (
        "Mean frequency re nominal of the tone made for it, else the median of all tones; the"
        " interface's clock sets the limit, some tens of ppm (common practice)."
    ),
    "tones.channels.balance_db": "Difference of the levels of the two channels.",
    "tones.channels.deviation_db": (
        "Level re the reference tone, less the certificate's level, less its deviation re that of"
        " the reference tone."
    ),
    "tones.channels.is_within": "Deviation against the tolerance of the certificate.",
    "tones.channels.level_dbfs": (
        "Median over windows of twelve cycles (Hann), re the amplitude of a full-scale sine, which"
        " reads 0 dBFS as peak and as RMS (AES17, IEC 61606-3)."
    ),
    "tones.channels.may_be_fringing": (
        "Below 250 Hz and more than 0.3 dB or the tolerance too high, with a tape not known to be"
        " recorded with tracks as narrow as the head: consistent with fringing (JAES 1978); only"
        " told, never corrected."
    ),
    "tones.channels.phase_deg": "Phase of the mean product of the two channels.",
    "tones.channels.relative_db": "Difference from the level of the reference tone.",
    "tones.frequency_hz": "Slope of the phase over the whole tone, by least squares.",
    "tones.speed_error_percent": "Mean frequency re nominal.",
    "tones.start": (
        "Frames of 100 ms every 50 ms of which one peak holds 70 % of the energy from an octave"
        " below it upward; joined while frequency stays within 3 % and level within 2.5 dB, for at"
        " least 1 s. At most 120 s of a tone are read, 300 s for flutter (own method)."
    ),
}
"""By key of the facts; those that need no method are left out."""
