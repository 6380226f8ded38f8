"""What a gate alone finds: it is asked while the reel is at hand, and stands in no package."""

from tailsout.ground.findings import Kind, Severity, Verdict

_ASK = "Ask a conservator and the owner before anything else is done to this reel."

BASE_UNSETTLED = Kind(
    code="base-unsettled-before-treatment",
    severity=Severity.QUERY,
    title="A treatment is planned, and a section is not surely of a base that bears it",
    basis="common practice, no source: heat destroys acetate, and one reel may hold several bases",
    remedy=_ASK,
    needs_reel=True,
    leads_to=Verdict.REFUSED,
)
DISK_TOO_SMALL = Kind(
    code="disk-too-small",
    severity=Severity.QUERY,
    title="The disk has less room than the captures are expected to take",
    basis="the environment: free octets against minutes, rate, width and channels",
    remedy="Make room before the tape runs.",
    leads_to=Verdict.NOT_EXAMINED,
)
CAPTURE_AWAITED = Kind(
    code="capture-awaited",
    severity=Severity.QUERY,
    title="A capture that the form names is not there yet",
    basis="own rule: what was planned is captured before the reel leaves the machine",
    remedy="Capture it, or take it out of the form and say why.",
    needs_reel=True,
)
CAPTURE_GROWING = Kind(
    code="capture-growing",
    severity=Severity.QUERY,
    title="A capture changed a moment ago and was not opened",
    basis="own rule: what a recorder may be writing is left alone",
    remedy="Let the recorder finish, then ask again, or watch with --watch.",
    needs_reel=True,
    leads_to=Verdict.NOT_EXAMINED,
)
OUT_OF_REACH = Kind(
    code="capture-out-of-reach",
    severity=Severity.QUERY,
    title="A capture vanished, changed or could not be read while it was looked at",
    basis="the environment: a capture that cannot be read proves nothing",
    remedy="See where the recorder put it, then ask again.",
    needs_reel=True,
    leads_to=Verdict.NOT_EXAMINED,
)
CAPTURE_UNNAMED = Kind(
    code="capture-unnamed",
    severity=Severity.QUERY,
    title="An audio file lies among the captures, and the form does not name it",
    basis="own rule: what was captured is packed, or put aside by somebody",
    remedy="Name it in [[captures]], or put it elsewhere.",
)
CLOSE_WOULD_STOP = Kind(
    code="close-would-stop",
    severity=Severity.MEND,
    title="Something other than a finding would stop `tailsout close`",
    basis="own rule: what stops the work at the desk is told while there is time",
    remedy="Put it right, then ask again.",
)
SIDE_TOO_LONG = Kind(
    code="side-longer-than-reel",
    severity=Severity.QUERY,
    title="A side lasted longer than a full reel of that size can at the stated speed",
    basis="common practice, no source: hubs and lengths of full reels, 15 % reckoned in",
    remedy="The engineer says whether speed, reel or thickness is stated wrongly.",
    needs_reel=True,
)
FREE_END = Kind(
    code="free-end-unsaid",
    severity=Severity.QUERY,
    title="Nothing says that the free end is held down",
    basis="common practice, no source: a loose end unwinds and is trodden on",
    remedy="Add an event 'free end held down', with what.",
    needs_reel=True,
)
OPENING = Kind(
    code="opening-unsaid",
    severity=Severity.QUERY,
    title="The free end is held down, and nothing says how to open it",
    basis="own rule: whoever comes next must not tear it",
    remedy="Say it in opens_how of that event.",
    needs_reel=True,
)
REMARKING = Kind(
    code="remarking-unsaid",
    severity=Severity.QUERY,
    title="Nothing says whether box or reel were marked anew",
    basis="own rule: what was found ought to stand where the next person looks first",
    remedy="Add an event 're-marking', with the old and the new text, or with outcome 'none'.",
    needs_reel=True,
)
END_OUT = Kind(
    code="end-out-unsaid",
    severity=Severity.QUERY,
    title="Nothing says which end is out on leaving",
    basis="common practice, no source: which end is out tells the next person how to thread",
    remedy="Look, and say it in reel.end_out_on_leaving.",
    needs_reel=True,
)
PHOTOGRAPHS = Kind(
    code="photographs-unsaid",
    severity=Severity.QUERY,
    title="No photograph is named, and nothing says that none was taken",
    basis="own rule: once the reel has left nobody can take one",
    remedy="Name them in reel.images, or say 'none found'.",
    needs_reel=True,
)
REEL_PAIR = Kind(
    code="reel-pair-unsaid",
    severity=Severity.QUERY,
    title="Nothing says which reel the tape lies on at the end",
    basis="own rule: the owner's reel goes back to the owner",
    remedy="Say it in reel.original_reel.",
    needs_reel=True,
)
RETURN = Kind(
    code="return-unsaid",
    severity=Severity.QUERY,
    title="Nothing says to whom or where the reel goes",
    basis="own rule: the way of a reel is told without a gap",
    remedy="Add an entry to reel.custody: from when, and who keeps it.",
)
STOPS = (BASE_UNSETTLED, DISK_TOO_SMALL)
AT_BOXING = (FREE_END, OPENING, REMARKING, END_OUT, PHOTOGRAPHS, REEL_PAIR, RETURN)
KINDS = (
    *STOPS,
    *(
        CAPTURE_AWAITED,
        CAPTURE_GROWING,
        OUT_OF_REACH,
        CAPTURE_UNNAMED,
        CLOSE_WOULD_STOP,
        SIDE_TOO_LONG,
    ),
    *AT_BOXING,
)
