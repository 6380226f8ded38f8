"""The closed lists of words. The schema holds the same lists; a house test compares them."""

from typing import Literal

Absence = Literal[
    "unknown", "not applicable", "not examined", "none found", "not recorded", "withheld"
]
"""Why a value is not there: never an empty string."""

Confidence = Literal["certain", "likely", "uncertain"]
End = Literal["heads", "tails"]
"""Which end of the tape lies outside on the reel; ends are those of the first side."""
Run = Literal["head to tail", "tail to head"]
"""Which way the tape ran, seen from the first side: head to tail leaves the tails out."""
IdentifierKind = Literal[
    "shelf mark", "barcode", "catalogue number", "accession number", "local number", "other"
]
InscriptionPlace = Literal["box", "spine", "reel", "leader", "insert", "other"]
Base = Literal["cellulose acetate", "polyester", "PVC", "paper", "other"]
BaseTest = Literal["light through the pack", "tear", "print on the tape", "smell", "label", "other"]
RegionKind = Literal[
    "programme",
    "line-up tone",
    "slate",
    "leader",
    "scrap tape",
    "silence",
    "speed change",
    "blank",
]
Direction = Literal["forward", "reversed"]
Tracks = Literal[
    "full-track mono",
    "half-track mono",
    "half-track stereo",
    "quarter-track mono",
    "quarter-track stereo",
    "multitrack",
    "other",
]
EventKind = Literal[
    "inspection",
    "treatment",
    "splice repair",
    "leader change",
    "winding",
    "cleaning",
    "re-housing",
    "photography",
    "re-marking",
    "free end held down",
    "other",
]
CareKind = Literal["cleaned", "demagnetised", "tension checked", "calibrated", "repaired", "other"]
StepKind = Literal[
    "reproduce head",
    "reproduce amplifier",
    "machine output",
    "transformer",
    "noise reduction",
    "patch",
    "converter",
    "interface",
    "recorder",
    "other",
]
OutputTap = Literal["after the line transformer", "before the line transformer", "phones", "direct"]
SignalState = Literal["analogue", "digital"]
