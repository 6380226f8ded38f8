"""What the package's recipient asks of the package: sorts of file, manifests, version, paths."""

from collections.abc import Iterator, Mapping

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.mapping.names import tree
from tailsout.records.dossier import Dossier
from tailsout.records.recipient import BagAsked, Recipient, RoleAsked
from tailsout.records.vocab import Export, FileRole
from tailsout.rules.rule import Rule, package_of, transfer_of

ROLE_MISSING = Kind(
    code="role-missing",
    severity=Severity.QUERY,
    title="A package has no file of a sort that the recipient requires",
    basis="own rule: the recipient's form requires it in roles",
    remedy="Add such a file, or say why there is none; the recipient decides.",
)
EXPORT_NOT_MADE = Kind(
    code="export-not-made",
    severity=Severity.QUERY,
    title="An export that the recipient wants is not in the package",
    basis="own rule: the recipient's form asks for it in views",
    remedy="Ask the recipient whether the side-car will do, which holds all that is stated.",
)
MANIFEST_ASKED = Kind(
    code="manifest-asked-missing",
    severity=Severity.MEND,
    title="A manifest that the recipient wants is not in the package",
    basis="own rule: the recipient's form asks for it in extra_algorithms",
    remedy="Add the algorithm with `tailsout amend`, or ask the sender for the manifest.",
)
BAG_VERSION = Kind(
    code="bag-version-asked",
    severity=Severity.QUERY,
    title="The bag is in a different version of BagIt than the recipient wants",
    basis="own rule: the recipient's form asks for it in bag.version",
    remedy="The recipient decides whether it will do.",
)
BAG_FORM = Kind(
    code="bag-form-asked",
    severity=Severity.NOTE,
    title="The recipient wants the package in a different form",
    basis="own rule: the recipient's form asks for it in bag.serialisation",
    remedy="`tailsout pack` makes an archive of a package, `tailsout unpack` a folder of it.",
)
PATH_TOO_LONG = Kind(
    code="drive-path-too-long",
    severity=Severity.QUERY,
    title="A package holds a path that is longer than the recipient takes on a drive",
    basis="own rule: the recipient's form bounds it in drive.max_path_octets",
    remedy="The recipient decides, or the package is made again with shorter names.",
)

EXPORTS: Mapping[Export, str] = {
    "PREMIS": naming.PREMIS,
    "METS": naming.METS,
    "PBCore": naming.PBCORE,
    "RO-Crate": naming.CRATE,
    "inventory": naming.INVENTORY,
    "report": naming.REPORT,
    "label": naming.LABEL,
}
"""Where each would lie in a package."""


def _asking(dossier: Dossier) -> Recipient | None:
    return transfer_of(dossier).recipient


def _roles(dossier: Dossier) -> Iterator[Finding]:
    recipient = _asking(dossier)
    for index, one in enumerate(recipient.roles if recipient is not None else ()):
        if one.required and not _is_there(dossier, one):
            place = dossier.place(f"/recipient/roles/{index}")
            yield ROLE_MISSING.at(place, f"{one.role} is required, and there is none.")


def _is_there(dossier: Dossier, one: RoleAsked) -> bool:
    transfer = transfer_of(dossier)
    if dossier.package is not None:
        start = f"{tree.folder(transfer.recipient, one.role)}/"
        paths = [file.path for file in dossier.package.files]
        return any(path.startswith(start) and not path.endswith(".json") for path in paths)
    if one.role == "image":
        images = [*transfer.reel.images, *(i for e in transfer.reel.events for i in e.images)]
        return bool(images)
    there: Mapping[FileRole, bool] = {
        "master": bool(dossier.files),
        "calibration": bool(dossier.calibrations or dossier.at_rest),
        "access": bool(transfer.recipient and transfer.recipient.copies),
        # What lies in the folder of the job is seen when it is packed.
        "document": True,
    }
    return there.get(one.role, False)


def _exports(dossier: Dossier) -> Iterator[Finding]:
    recipient = _asking(dossier)
    # Where there is no package yet, closing or amending makes whichever is asked for.
    if recipient is None or dossier.package is None:
        return
    present = {file.path for file in dossier.package.files}
    for index, one in enumerate(recipient.views):
        if EXPORTS[one] not in present:
            place = dossier.place(f"/recipient/views/{index}")
            yield EXPORT_NOT_MADE.at(place, f"{one} would be {EXPORTS[one]}, which is not there.")


def _manifests(dossier: Dossier) -> Iterator[Finding]:
    recipient = _asking(dossier)
    there = {one.algorithm for one in package_of(dossier).manifests if not one.is_tag}
    for one in recipient.extra_algorithms if recipient is not None else ():
        if one not in there:
            place = Place(file=f"manifest-{one}.txt")
            yield MANIFEST_ASKED.at(place, "they want it, and it is not there.")


def _version(dossier: Dossier) -> Iterator[Finding]:
    wanted, stated = _bag(dossier).version, package_of(dossier).bagit_version
    # A version that could not be read is told by the reader.
    if wanted is not None and stated and stated != wanted:
        text = f"it is of version {printable(stated)}; {wanted} is wanted."
        yield BAG_VERSION.at(Place(file="bagit.txt", line=1), text)


def _serialisation(dossier: Dossier) -> Iterator[Finding]:
    wanted = _bag(dossier).serialisation
    archive = dossier.package.archive if dossier.package is not None else None
    form = "folder" if archive is None else archive.form
    if wanted is not None and form != wanted:
        place = dossier.place("/recipient/bag/serialisation")
        yield BAG_FORM.at(place, f"a {wanted} is wanted; this is a {form}.")


def _bag(dossier: Dossier) -> BagAsked:
    recipient = _asking(dossier)
    asked = recipient.bag if recipient is not None else None
    return asked if asked is not None else BagAsked()


def _paths(dossier: Dossier) -> Iterator[Finding]:
    recipient, package = _asking(dossier), package_of(dossier)
    drive = recipient.drive if recipient is not None else None
    most = drive.max_path_octets if drive is not None else None
    if most is None:
        return
    paths = [f"{package.name}/{file.path}" for file in package.files]
    long = [path for path in paths if len(path.encode("utf-8", "surrogateescape")) > most]
    if long:
        longest = max(long, key=len)
        more = f" {len(long) - 1} more are longer than that." if len(long) > 1 else ""
        text = f"it has {len(longest.encode('utf-8', 'surrogateescape'))} octets; {most} are taken."
        yield PATH_TOO_LONG.at(Place(file=printable(longest, 200)), text + more)


RULES = (
    Rule(
        name="files that the recipient requires",
        kinds=(ROLE_MISSING,),
        needs=frozenset({"statements"}),
        run=_roles,
    ),
    Rule(
        name="exports that the recipient wants",
        kinds=(EXPORT_NOT_MADE,),
        needs=frozenset({"statements"}),
        run=_exports,
    ),
    Rule(
        name="manifests that the recipient wants",
        kinds=(MANIFEST_ASKED,),
        needs=frozenset({"statements", "manifests"}),
        run=_manifests,
    ),
    Rule(
        name="version of BagIt that the recipient wants",
        kinds=(BAG_VERSION,),
        needs=frozenset({"statements", "structure"}),
        run=_version,
    ),
    Rule(
        name="form that the recipient wants",
        kinds=(BAG_FORM,),
        needs=frozenset({"statements"}),
        run=_serialisation,
    ),
    Rule(
        name="paths that the recipient takes",
        kinds=(PATH_TOO_LONG,),
        needs=frozenset({"statements", "structure"}),
        run=_paths,
    ),
)
