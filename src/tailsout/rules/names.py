"""Names and folders as the recipient asks for them; where none asks, nothing is said.

A capture's own name is never judged: in a job it is the name that its master will get.
"""

from collections.abc import Iterator, Mapping

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.portable import composed
from tailsout.ground.units import printable
from tailsout.mapping import masters, naming
from tailsout.mapping.names import tree
from tailsout.mapping.names.asked import Planned, clashing, separator_of, template_of
from tailsout.mapping.names.fields import LETTERS, Fault, Template, Value, is_allowed
from tailsout.mapping.names.filling import read_back, spelled
from tailsout.mapping.names.values import known_of, role_of
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.recipient import Recipient
from tailsout.records.vocab import FileRole
from tailsout.rules.rule import Rule, bounded, package_of, transfer_of
from tailsout.rules.sides import photographs

_AT_TEMPLATE = "/recipient/names/template"
_DERIVED: tuple[FileRole, ...] = ("edit", "access")

TEMPLATE_FAULTY = Kind(
    code="name-template-faulty",
    severity=Severity.QUERY,
    title="The recipient's template of names cannot be used",
    basis="own rule: by a template every name has one reading",
    remedy="Correct names.template in the recipient's form; ask them what they mean.",
)
NAME_NOT_MADE = Kind(
    code="name-not-made",
    severity=Severity.MEND,
    title="A capture's master would have no name by the recipient's template",
    basis="own rule: a package is not closed while a file in it has no name",
    remedy="Say what is missing in the job, or change the template: put the field in brackets, or "
    "name a separator for letters that cannot stand.",
)
NAMES_CLASH = Kind(
    code="names-clash",
    severity=Severity.MEND,
    title="Two masters would have one name by the recipient's template",
    basis="own rule: no two files of a package are one on any system (RFC 8493 §6.1.2)",
    remedy="Put something into the template that tells them apart, as part, track or capture.",
)
NOT_BY_TEMPLATE = Kind(
    code="name-not-by-template",
    severity=Severity.QUERY,
    title="A file is not called by the recipient's template",
    basis="own rule: the recipient asks for names by a template",
    remedy="Ask the recipient whether they take it so; `amend` renames a master in a new version.",
)
NAME_DIFFERS = Kind(
    code="name-differs-from-side-car",
    severity=Severity.QUERY,
    title="A file's name and its side-car disagree",
    basis="own rule: what a name says by the template is held against what is stated",
    remedy="Find out which of the two is right: the file may have been exchanged.",
)
NAME_TOO_LONG = Kind(
    code="name-too-long",
    severity=Severity.QUERY,
    title="A name is longer than the recipient takes",
    basis="own rule: the recipient's form says how long a name may be",
    remedy="Shorten what the name is made of, or ask the recipient.",
)
NAME_LETTERS = Kind(
    code="name-letters",
    severity=Severity.QUERY,
    title="A name holds a character that the recipient does not take",
    basis="own rule: the recipient's form says which characters names may have",
    remedy="Rename the file in the job, or ask the recipient.",
)
OTHER_FOLDER = Kind(
    code="file-in-other-folder",
    severity=Severity.QUERY,
    title="A file does not lie in the folder that the recipient wants for it",
    basis="own rule: the recipient's form says which folder is for which role",
    remedy="Ask the recipient whether they take it so.",
)


def _names(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    template = template_of(transfer.recipient)
    if template is None:
        return
    if isinstance(template, Fault):
        text = f"at its letter {template.at + 1}: {template.text}"
        # A package has its names already; a job gets none.
        kind = NAME_NOT_MADE if dossier.origin == "closing" else TEMPLATE_FAULTY
        yield kind.at(dossier.place(_AT_TEMPLATE), text)
    elif dossier.origin == "closing":
        yield from _planned([masters.planned(transfer, file) for file in dossier.files])
    else:
        for file in dossier.files:
            yield from _called(dossier, file, template)


def _planned(planned: list[Planned]) -> Iterator[Finding]:
    for one in planned:
        if one.why:
            yield NAME_NOT_MADE.at(Place(file=printable(one.file.path)), one.why)
    for first, second in clashing(planned):
        text = (
            f"its master would be called {printable(second.path)}, and so would that of "
            f"{printable(first.file.path)}."
        )
        yield NAMES_CLASH.at(Place(file=printable(second.file.path)), text)


def _called(dossier: Dossier, file: FileRecord, template: Template) -> Iterator[Finding]:
    """Read the name of a master back, or that of a copy made of one."""
    transfer = transfer_of(dossier)
    role = _role(transfer.recipient, file)
    if role is None:
        return
    place = Place(file=printable(file.path))
    stem = composed(naming.master_stem(file.path))
    said = read_back(template, stem)
    if isinstance(said, Fault):
        text = f"by {printable(template.text)}, {said.text}"
        yield NOT_BY_TEMPLATE.at(place, text)
        return
    stated = {**known_of(transfer, file).values, "role": role_of(transfer.recipient, role)}
    for key, told, known in _differing(template, said, stated, separator_of(transfer.recipient)):
        text = f"its name says {key} {printable(str(told))!r}, stated is {printable(str(known))!r}."
        yield NAME_DIFFERS.at(place, text)


def _role(recipient: Recipient | None, file: FileRecord) -> FileRole | None:
    """Return what a file is: a master by its side-car, a copy by the folder that is theirs."""
    if file.sidecar is not None:
        return "master"
    lies_in = file.path.rpartition("/")[0]
    listed = recipient.roles if recipient is not None else ()
    roles = (one.role for one in listed if one.role in _DERIVED)
    return next((one for one in roles if tree.folder(recipient, one) == lies_in), None)


def _differing(
    template: Template, said: Mapping[str, Value], stated: Mapping[str, Value], separator: str
) -> Iterator[tuple[str, Value, Value]]:
    """Yield what a name says otherwise than is stated; what nobody states contradicts nothing."""
    for key, told in said.items():
        if key in stated and spelled(template, key, stated[key], separator) != told:
            yield key, told, stated[key]


def _as_taken(dossier: Dossier) -> Iterator[Finding]:
    """Look at every name of the payload: how long it is and which characters it has."""
    recipient = transfer_of(dossier).recipient
    names = recipient.names if recipient is not None else None
    if names is None:
        return
    letters = LETTERS[names.allowed] if names.allowed is not None else None
    for path in _payload(dossier):
        name = path.rpartition("/")[2]
        place = Place(file=printable(path))
        if names.max_length is not None and len(name) > names.max_length:
            text = f"its name has {len(name)} characters, and they take {names.max_length}."
            yield NAME_TOO_LONG.at(place, text)
        wrong = [c for c in name if letters is not None and not is_allowed(c, letters)]
        if wrong:
            text = f"it holds {printable(wrong[0])!r}, and they take names that are "
            yield NAME_LETTERS.at(place, f"{text}{names.allowed}.")


def _payload(dossier: Dossier) -> Iterator[str]:
    """Yield the payload as it is; of a job the masters, their side-cars and the photographs."""
    if dossier.origin == "received":
        files = package_of(dossier).files if dossier.package is not None else ()
        yield from (file.path for file in files if file.path.startswith("data/"))
        return
    transfer = transfer_of(dossier)
    for file in dossier.files:
        path = masters.planned(transfer, file).path
        if path:
            yield from (path, naming.sidecar_path(path))
    for image in dict.fromkeys(name for _, name in photographs(transfer.reel)):
        yield tree.kept_path(transfer.recipient, image)


def _folders(dossier: Dossier) -> Iterator[Finding]:
    """Look for masters outside of the masters' folder, and for files in default folders."""
    recipient = transfer_of(dossier).recipient
    listed = recipient.roles if recipient is not None else ()
    asked = {one.role: tree.folder(recipient, one.role) for one in listed if one.folder}
    ours = {file.path for file in dossier.files if file.sidecar is not None}
    ours |= {naming.sidecar_path(path) for path in ours}
    for file in package_of(dossier).files:
        is_ours = file.path in ours
        role = "master" if is_ours else tree.default_role(file.path)
        wanted = [asked[role]] if is_ours and role in asked else [*asked.values()]
        if role in asked and not any(file.path.startswith(f"{one}/") for one in wanted):
            text = f"they want it in {asked[role]}, which is for the role {role}."
            yield OTHER_FOLDER.at(Place(file=printable(file.path)), text)


RULES = (
    Rule(
        name="names by the recipient's template",
        kinds=(TEMPLATE_FAULTY, NAME_NOT_MADE, NAMES_CLASH, NOT_BY_TEMPLATE, NAME_DIFFERS),
        needs=frozenset({"statements", "headers"}),
        run=lambda dossier: bounded(_names(dossier)),
    ),
    Rule(
        name="names as the recipient takes them",
        kinds=(NAME_TOO_LONG, NAME_LETTERS),
        needs=frozenset({"statements", "headers"}),
        run=lambda dossier: bounded(_as_taken(dossier)),
    ),
    Rule(
        name="folders as the recipient wants them",
        kinds=(OTHER_FOLDER,),
        needs=frozenset({"statements", "headers", "structure"}),
        run=lambda dossier: bounded(_folders(dossier)),
    ),
)
