"""The closed lists of words. The schema holds the same lists; a house test compares them."""

from typing import Literal

Absence = Literal[
    "unknown", "not applicable", "not examined", "none found", "not recorded", "withheld"
]
"""Why a value is not there: never an empty string."""

StatementAct = Literal["corrected", "added", "withheld"]
FileAct = Literal["added", "withdrawn", "replaced", "renamed", "header renewed"]
"""What an amendment did to a file; a renewed header leaves the samples as they are."""
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
JobKind = Literal["transfer", "retrospective", "record only"]
NotPlayed = Literal[
    "condition",
    "playback failed",
    "no machine for it",
    "duplicate",
    "blank",
    "sealed",
    "other",
]
Generation = Literal["original", "mix", "edited master", "copy"]
OxideSide = Literal["in", "out"]
ConditionMoment = Literal["on arrival", "before playing", "on leaving"]
Pack = Literal[
    "flat",
    "stepped",
    "popped strands",
    "leafing",
    "pack slip",
    "cinching",
    "spoking",
    "windowing",
    "flange pack",
    "blocking",
    "curl or cupping",
    "edge wave",
    "country laning",
    "loose",
    "tight",
]
Odour = Literal["vinegar", "wax crayon", "dirty socks", "astringent", "other"]
Degree = Literal["slight", "moderate", "severe"]
LeaderKind = Literal["leader tape", "scrap tape", "none"]
TreatmentState = Literal["proposed", "approved", "done", "declined"]
ImageRole = Literal[
    "box", "spine", "reel face", "leader", "insert", "condition", "machine", "other"
]
HeadKind = Literal["fixed", "rotary"]
Swab = Literal["cotton", "foam", "chamois", "lint-free cloth", "none"]
FluxivityMethod = Literal["AC ring head", "DIN transfer"]
ToneUse = Literal["reference level", "azimuth", "response", "speed and flutter", "other"]
CalibrationOutcome = Literal["verified, nothing moved", "adjusted"]
PackEnd = Literal["head", "tail"]
CalibrationMoment = Literal["as found", "as left"]
AzimuthTo = Literal["calibration tape", "programme"]
Decoding = Literal["decoded", "deferred", "none"]
DefectHome = Literal["recording", "carrier", "playback", "capture", "undecided"]
NoticedBy = Literal["by ear", "by meter"]
ListeningVerdict = Literal["accepted", "accepted with notes", "rejected", "undecided"]
Decision = Literal["accepted as is", "put right", "does not apply"]
Guideline = Literal["EBU", "FADGI"]
MasterFormat = Literal["WAV", "FLAC"]
MarkChunk = Literal["cue", "axml", "iXML"]
InfoSource = Literal[
    "studio",
    "recipient",
    "title",
    "identifiers",
    "recorded",
    "rights",
    "operator",
    "machine",
    "stock",
    "software",
    "made on",
    "note",
]
NameSet = Literal["POSIX portable", "lower-case portable", "any"]
"""Which characters a recipient takes in the name of a file."""
Separator = Literal["-", "_"]
FileRole = Literal["master", "edit", "access", "image", "document", "calibration"]
CopyFormat = Literal["WAV", "FLAC", "MP3", "Opus"]
CopyPer = Literal["region", "side", "file"]
"""What there is one access copy for."""
CopyTag = Literal["title", "artist", "album", "date", "comment", "organisation", "copyright"]
CopyCorrection = Literal["speed", "equalisation"]
CopyStepKind = Literal[
    "speed correction",
    "equalisation correction",
    "sample rate conversion",
    "dither",
    "encoding",
    "tags",
]
AskedLevel = Literal["required", "recommended"]
TextChunk = Literal["bext", "INFO"]
BagItVersion = Literal["1.0", "0.97"]
Serialisation = Literal["folder", "tar"]
Join = Literal["speed change", "equalisation change", "parts"]
"""Where one file of a tape ends and the next begins."""
SamplePosition = Literal["beginning", "middle", "end"]
Export = Literal["PREMIS", "METS", "PBCore", "RO-Crate", "inventory", "report", "label"]
Made = Literal["as captured", "joined", "part", "interleaved", "track", "restored from FLAC"]
GapKind = Literal["digital silence", "quiet as leader", "pause"]
ToneFit = Literal["fits", "few tones match", "another speed", "no tones"]
TurningPart = Literal["reel", "roller", "capstan", "mains"]
