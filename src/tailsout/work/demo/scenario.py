"""The forms of the demonstration: the spoken log of Skerrow Light, transferred at Saltpan Row.

People, places, makers and tapes are invented.
"""

from tailsout.measure.signals import Stretch

PACKAGE_ID = "SKL-0007"
SAMPLE_RATE_HZ = 96_000
SEED = 1907

STUDIO = """\
name = "Saltpan Row"
place = "Saltpan Row 4, Skerrow Haven"
contact_name = "Isolde Varga-Finch"
contact_email = "desk@saltpan-row.example"
"""

PEOPLE = """\
[[people]]
id = "isolde"
name = "Isolde Varga-Finch"
role = "transfer engineer"

[[people]]
id = "tam"
name = "Tamsin Orrick"
role = "listens and checks"
"""

MACHINE = """\
id = "mk3-left"
maker = "Tidewright"
model = "Mark 3"
serial = "0412"
head = "half-track, 2.1 mm core"

[[care]]
kind = "cleaned"
on = 2026-03-14T09:10:00+00:00
by = "isolde"
parts = ["heads", "guides", "pinch roller"]
agent = "isopropyl alcohol 99.9 %; water on the pinch roller"
outcome = "a little brown on the guides, none on the second swab"
note = "dry before threading"

[[care]]
kind = "demagnetised"
on = 2026-03-14T09:25:00+00:00
by = "isolde"
parts = ["heads", "guides"]
note = "machine off, tapes in the other room"

[[care]]
kind = "calibrated"
on = 2026-03-14T09:50:00+00:00
by = "isolde"
outcome = "verified at both speeds, nothing moved"
"""

RECIPIENT = """\
id = "harbour-archive"
name = "Harbour Archive"
extra_algorithms = ["md5"]
"""

JOB = """\
job_id = "5f0c7a52-3f5e-4c0e-9a53-6d1f5f3b2c07"
package_id = "SKL-0007"
studio = "../studio"
recipient = "harbour-archive"

[reel]
title = "Skerrow Light, spoken log of the keeper, reel 7"
end_out_on_arrival = "heads"
end_out_on_leaving = "tails"
last_motion = "head to tail"

[[reel.identifiers]]
value = "HA/SKL/7"
kind = "shelf mark"
assigned_by = "Harbour Archive"

[[reel.identifiers]]
value = "0000418207"
kind = "barcode"

[[reel.inscriptions]]
place = "box"
text = "LIGHT LOG – NOV. – both sides 7½"
found = "side B changes to 3¾ ips after the first entry"

[[reel.inscriptions]]
place = "leader"
text = "A  start"
found = "head of side A"

[[reel.stock]]
id = "s1"
maker = "Marlspike"
number = "unknown"
base = "PVC"
base_told_by = ["print on the tape", "light through the pack"]
confidence = "likely"

[[reel.stock]]
id = "s2"
maker = "unknown"
number = "unknown"
base = "polyester"
base_told_by = ["light through the pack"]
confidence = "certain"
note = "spliced on after the third entry; splice dry and holding"

[[reel.sides]]
id = "A"
title = "Log of November, first half"

[[reel.sides.regions]]
id = "A1"
kind = "leader"
capture = "side-a"
start = "0:00"
end = "0:02"

[[reel.sides.regions]]
id = "A2"
kind = "line-up tone"
capture = "side-a"
start = "0:02"
end = "0:08"
title = "1 kHz"
speed_ips = 7.5
equalisation = { standard = "NAB", t1_us = 3180, t2_us = 50 }
tracks = "half-track mono"
stock = "s1"

[[reel.sides.regions]]
id = "A3"
kind = "programme"
capture = "side-a"
start = "0:09"
end = "0:22"
title = "entries one to three"
speed_ips = 7.5
equalisation = { standard = "NAB", t1_us = 3180, t2_us = 50 }
tracks = "half-track mono"
direction = "forward"
noise_reduction = "none"
stock = "s1"
basis = ["line-up tone at pitch", "voice by ear", "the recorder's curve of those years"]
confidence = "likely"

[[reel.sides.regions]]
id = "A4"
kind = "programme"
capture = "side-a"
start = "0:22"
end = "0:32"
title = "entry four"
speed_ips = 7.5
equalisation = { standard = "NAB", t1_us = 3180, t2_us = 50 }
tracks = "half-track mono"
direction = "forward"
noise_reduction = "none"
stock = "s2"
basis = ["voice by ear"]
confidence = "likely"

[[reel.sides]]
id = "B"
title = "Log of November, second half"

[[reel.sides.regions]]
id = "B1"
kind = "programme"
capture = "side-b"
start = "0:02"
end = "0:14"
title = "entry five"
speed_ips = 7.5
equalisation = { standard = "IEC1", t2_us = 70 }
tracks = "half-track mono"
direction = "forward"
noise_reduction = "none"
stock = "s2"
basis = ["brighter than side A under its curve", "voice by ear"]
confidence = "uncertain"

[[reel.sides.regions]]
id = "B2"
kind = "programme"
capture = "side-b"
start = "0:15"
end = "0:29"
title = "entries six and seven"
speed_ips = 3.75
equalisation = { standard = "NAB", t1_us = 3180, t2_us = 90 }
tracks = "half-track mono"
direction = "forward"
noise_reduction = "none"
stock = "s1"
basis = ["voice by ear", "recorded hum at half its pitch when played at 7½"]
confidence = "certain"

[[reel.events]]
kind = "inspection"
on = 2026-03-12
by = "isolde"
why = "reel came from the lamp store, wound heads out"
outcome = "pack stepped in the middle, no odour, no mould seen, one splice"

[[reel.events]]
kind = "photography"
on = 2026-03-12
by = "isolde"
outcome = "box on all sides, both faces of the reel, leader"

[[reel.events]]
kind = "winding"
on = 2026-03-14T11:20:00+00:00
by = "isolde"
why = "to leave it tails out with a flat pack"
outcome = "flat pack"
tape_ran = "head to tail"
note = "slowly, onto the reel it came on"

[[reel.events]]
kind = "free end held down"
on = 2026-03-14T11:30:00+00:00
by = "isolde"
outcome = "acid-free paper band, opens by hand"

[[passes]]
id = "p1"
machine = "mk3-left"
on = 2026-03-14T10:20:00+00:00
by = "isolde"
sides = ["A"]
kept = true
tape_ran = "head to tail"

[passes.set_up]
speed_ips = 7.5
equalisation = { standard = "NAB", t1_us = 3180, t2_us = 50 }
output_select = "repro"
output_tap = "before the line transformer"
reel_size_supply = "small"
reel_size_take_up = "small"
lifters = "out"
noise_reduction = "none"
record_inhibited = "record relay pulled"

[[passes]]
id = "p2"
machine = "mk3-left"
on = 2026-03-14T10:50:00+00:00
by = "isolde"
sides = ["B"]
kept = true
tape_ran = "tail to head"
note = "speed and curve changed on the run at the gap"

[passes.set_up]
speed_ips = 7.5
equalisation = { standard = "IEC1", t2_us = 70 }
output_select = "repro"
output_tap = "before the line transformer"
reel_size_supply = "small"
reel_size_take_up = "small"
lifters = "out"
noise_reduction = "none"
record_inhibited = "record relay pulled"

[chain]
reason = "shortest path: nothing between reproduce amplifier and converter but a cable"

[[chain.steps]]
kind = "reproduce head"
device = "Tidewright half-track head"
signal = "analogue"

[[chain.steps]]
kind = "machine output"
device = "output before the line transformer"
signal = "analogue"

[[chain.steps]]
kind = "converter"
device = "Fathom C2"
serial = "C2-118"
setting = "0 dBu for -18 dBFS, own clock"
signal = "digital"

[[chain.steps]]
kind = "recorder"
device = "Groyne recorder 4.2"
setting = "24 bit, 96 kHz, no processing"
signal = "digital"

[[captures]]
id = "side-a"
file = "captures/skl7-side-a.wav"
pass_id = "p1"
started = 2026-03-14T10:21:07+00:00
program = "Groyne recorder 4.2"

[[captures]]
id = "side-b"
file = "captures/skl7-side-b.wav"
pass_id = "p2"
started = 2026-03-14T10:51:30+00:00
program = "Groyne recorder 4.2"
"""

SIDE_A = (
    Stretch(holds="leader", seconds=2, speed_ips=7.5),
    Stretch(holds="tone", seconds=6, speed_ips=7.5),
    Stretch(holds="blank", seconds=1, speed_ips=7.5),
    Stretch(holds="speech", seconds=23, speed_ips=7.5),
    Stretch(holds="blank", seconds=2, speed_ips=7.5),
)
SIDE_B = (
    Stretch(holds="blank", seconds=2, speed_ips=7.5),
    Stretch(holds="speech", seconds=12, speed_ips=7.5),
    Stretch(holds="blank", seconds=1, speed_ips=3.75),
    Stretch(holds="speech", seconds=14, speed_ips=3.75),
    Stretch(holds="blank", seconds=2, speed_ips=3.75),
)

CAPTURES = (
    ("captures/skl7-side-a.wav", SIDE_A, "2026-03-14", "10:21:07"),
    ("captures/skl7-side-b.wav", SIDE_B, "2026-03-14", "10:51:30"),
)
"""Path in the job, what passes the head, and the day and time the recorder wrote."""

FORMS = (
    ("studio/people.toml", PEOPLE),
    ("studio/machines/mk3-left.toml", MACHINE),
    ("studio/recipients/harbour-archive.toml", RECIPIENT),
    ("studio/studio.toml", STUDIO),
    ("job/job.toml", JOB),
)
