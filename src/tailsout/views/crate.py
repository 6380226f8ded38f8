"""data/ro-crate-metadata.json: the payload as an RO-Crate 1.2, whose root is the folder `data`.

Each event is an action: a capture a CreateAction with the reel as object, masters as results and
machines as instruments. Long statements stand as text in descriptions.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from tailsout.ground.findings import Finding
from tailsout.mapping import naming
from tailsout.mapping.addresses import address
from tailsout.records.dossier import Dossier
from tailsout.records.transfer import Studio
from tailsout.views import details, json_text
from tailsout.views.dates import UNKNOWN_DATE, is_calendar, is_moment
from tailsout.views.formats import Format, format_of
from tailsout.views.packaged import Packaged, PayloadFile
from tailsout.views.premis import terms
from tailsout.views.premis.agents import Actor, agent_id, environment_id, equipment, thing_name
from tailsout.views.premis.event import Event
from tailsout.views.premis.events import CHECKS, events
from tailsout.views.premis.identifiers import package_id, recording_id, reel_id, version_id
from tailsout.views.premis.losses import NOT_HELD, left_out
from tailsout.views.rows import pairs

__all__ = ["NOT_HELD", "lost", "render"]

FILE_NAME = naming.CRATE.removeprefix("data/")
VERSION = "https://w3id.org/ro/crate/1.2"
_PRONOM = "https://www.nationalarchives.gov.uk/PRONOM"
# A SoftwareApplication must have an address, which nobody states of a recorder's program.
_TYPES = {
    "person": "Person",
    "organization": "Organization",
    "software": "CreativeWork",
    "hardware": "IndividualProduct",
}
_NO_DATE = "The day of publication, which RO-Crate asks for, is not known."
_NO_LICENCE = "No licence is stated, which RO-Crate asks for."

Entity = dict[str, object]


def render(dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]) -> bytes:
    """Return the document. The asset `checks` says what the checks came to."""
    del findings
    packaged = Packaged(_without_itself(dossier))
    happened = events(packaged, assets.get(CHECKS, b"").decode("utf-8", "replace"))
    graph: list[Entity] = [
        {
            "@id": FILE_NAME,
            "@type": "CreativeWork",
            "about": {"@id": "./"},
            "conformsTo": {"@id": VERSION},
        },
        _root(packaged, happened),
        *_identifiers(packaged),
        *_things(packaged),
        *_formats(packaged),
        *_agents(packaged, happened),
        *(_action(packaged, event) for event in happened),
    ]
    # An identifier stands once in a graph, however often somebody is told of.
    once = {str(one["@id"]): one for one in reversed(graph)}
    flat = [
        {key: _single(value) for key, value in one.items()}
        for one in graph
        if once[str(one["@id"])] is one
    ]
    return json_text.document({"@context": f"{VERSION}/context", "@graph": flat})


def lost(dossier: Dossier) -> tuple[str, ...]:
    """Say what an RO-Crate does not hold, a sentence each: what PREMIS does not, and more."""
    packaged = Packaged(dossier)
    told = [*left_out(dossier)]
    if not packaged.made_at:
        told.append(_NO_DATE)
    if _rights(packaged) is None:
        told.append(_NO_LICENCE)
    return tuple(told)


def _single(value: object) -> object:
    """Return a list of one as that one, which is how JSON-LD is flattened."""
    return value[0] if isinstance(value, list) and len(value) == 1 else value


def _without_itself(dossier: Dossier) -> Dossier:
    """Return the dossier of the package before this document was written into it."""
    package = dossier.package
    if package is None:
        return dossier
    files = tuple(file for file in package.files if file.path != naming.CRATE)
    return replace(dossier, package=replace(package, files=files))


def _ref(key: str) -> dict[str, str]:
    return {"@id": key}


def _local(key: str) -> str:
    return f"#{key}"


def _path(file: PayloadFile) -> str:
    return _path_of(file.path)


def _path_of(path: str) -> str:
    return address(path.removeprefix("data/"))


def _text(told: Iterator[tuple[str, str]]) -> str:
    return "; ".join(f"{label}: {text}" for label, text in told)


def _described(key: str, kind: str, name: str, told: Iterator[tuple[str, str]]) -> Entity:
    text = _text(told)
    return {
        "@id": key,
        "@type": kind,
        "name": name,
        **({"description": text} if text else {}),
    }


def _rights(packaged: Packaged) -> str | None:
    recording = packaged.transfer.recording if packaged.transfer is not None else None
    rights = recording.rights if recording is not None else None
    return rights.statement if rights is not None else None


def _root(packaged: Packaged, happened: tuple[Event, ...]) -> Entity:
    transfer = packaged.transfer
    title = transfer.reel.title if transfer is not None else None
    text = _text(details.package(packaged))
    left_out = "; ".join(f"left out: {one}" for one in lost(packaged.dossier))
    root: Entity = {
        "@id": "./",
        "@type": "Dataset",
        "identifier": [_ref(str(one["@id"])) for one in _identifiers(packaged)],
        "name": title or packaged.name,
        "description": "; ".join(one for one in (text, left_out) if one) or packaged.name,
        "hasPart": [_ref(_path(file)) for file in packaged.files],
        "license": _ref(_rights(packaged) or _local("no-licence")),
    }
    if happened:
        root["mentions"] = [_ref(_local(event.id)) for event in happened]
    if packaged.made_at:
        root["datePublished"] = packaged.made_at
    for name in packaged.earlier[:1]:
        root["isBasedOn"] = _ref(_local(version_id(packaged, name)))
    if transfer is not None:
        root["publisher"] = _ref(_local("studio"))
        root["about"] = [_ref(_local(recording_id(packaged))), _ref(_local(reel_id(packaged)))]
    return root


def _identifiers(packaged: Packaged) -> Iterator[Entity]:
    known = (("name of the bag", packaged.name), ("UUID", f"urn:uuid:{package_id(packaged)}"))
    for number, (name, value) in enumerate(known, start=1):
        key = _local(f"identifier-{number}")
        yield {
            "@id": key,
            "@type": "PropertyValue",
            "name": name,
            "propertyID": name,
            "value": value,
        }


def _things(packaged: Packaged) -> Iterator[Entity]:
    transfer = packaged.transfer
    rights = _rights(packaged)
    recording = transfer.recording if transfer is not None else None
    stated = recording.rights if recording is not None else None
    name = "rights statement" if rights else "no licence is stated"
    yield _described(rights or _local("no-licence"), "CreativeWork", name, pairs(stated))
    if transfer is not None:
        title = transfer.reel.title or packaged.name
        key = _local(recording_id(packaged))
        yield _described(key, "CreativeWork", title, details.recording(transfer))
        key = _local(reel_id(packaged))
        reel = _described(key, "IndividualProduct", title, details.reel(packaged, transfer))
        yield {**reel, "identifier": [one.value for one in transfer.reel.identifiers]}
    for name in packaged.earlier:
        told = iter([("package", "an earlier version, which is not here")])
        yield _described(_local(version_id(packaged, name)), "CreativeWork", name, told)
    for file in packaged.files:
        yield _file(packaged, file)
    for one in packaged.stretches:
        key = _local(packaged.stretch_id(one))
        part = _described(key, "Clip", one.region.title or one.region.kind, details.stretch(one))
        yield {**part, "isPartOf": _ref(_path(one.file))}
    for key, machine, function in equipment(packaged):
        thing = _described(_local(key), "IndividualProduct", thing_name(machine), pairs(machine))
        yield {**thing, "category": function}


def _file(packaged: Packaged, file: PayloadFile) -> Entity:
    record = file.record
    name = file.path.rpartition("/")[2]
    told = details.file(packaged, record) if record is not None else iter(())
    known = _described(_path(file), "File", name, told)
    digests = dict(file.digests)
    parts = [
        _ref(_local(packaged.stretch_id(one))) for one in packaged.stretches if one.file is file
    ]
    known_as = format_of(file)
    registry = _registered(known_as)
    return {
        "description": known_as.name,
        **known,
        **({"hasPart": parts} if parts else {}),
        **({"isBasedOn": _ref(_path_of(file.copied.of))} if file.copied is not None else {}),
        "identifier": f"urn:uuid:{packaged.file_id(file.path)}",
        "contentSize": str(file.octets),
        "encodingFormat": [known_as.media_type, *([_ref(registry)] if registry else [])],
        **({"sha256": digests["sha256"]} if "sha256" in digests else {}),
    }


def _registered(known: Format) -> str:
    """Return the address of a format in its registry, which is that of its entity."""
    return f"{_PRONOM}/{known.pronom}" if known.pronom else ""


def _formats(packaged: Packaged) -> Iterator[Entity]:
    for known in dict.fromkeys(format_of(file) for file in packaged.files):
        if known.pronom:
            name = " ".join(part for part in (known.name, known.version) if part)
            yield {"@id": _registered(known), "@type": ["WebPage", "Standard"], "name": name}


def _who(packaged: Packaged, actor: Actor) -> str:
    """Return the entity of an actor; a machine is the thing itself."""
    thing = environment_id(packaged, actor.name) if actor.kind == "hardware" else None
    return _local(thing or agent_id(packaged, actor))


def _agents(packaged: Packaged, happened: tuple[Event, ...]) -> Iterator[Entity]:
    transfer = packaged.transfer
    if transfer is not None:
        for person in transfer.people:
            key = agent_id(packaged, Actor(kind="person", name=person.id))
            name = person.name or person.id
            yield _described(_local(key), "Person", name, pairs(person, but=("name",)))
        yield from _studio(transfer.studio)
    known = {one.id for one in transfer.people} if transfer is not None else set()
    for actor in dict.fromkeys(actor for event in happened for actor, _ in event.agents):
        is_stated = actor.kind == "hardware" or (actor.kind == "person" and actor.name in known)
        if not is_stated:
            key = _local(agent_id(packaged, actor))
            yield _described(key, _TYPES[actor.kind], actor.name, iter(()))


def _studio(studio: Studio) -> Iterator[Entity]:
    told = _described(_local("studio"), "Organization", studio.name or "studio", pairs(studio))
    contact, email = studio.contact_name, studio.contact_email
    if not (contact or email):
        yield told
        return
    yield {**told, "contactPoint": _ref(_local("contact"))}
    point = {"name": contact or email, "contactType": "questions", "email": email}
    known = {key: value for key, value in point.items() if value}
    yield {"@id": _local("contact"), "@type": "ContactPoint", **known}


def _action(packaged: Packaged, event: Event) -> Entity:
    paths = {packaged.file_id(file.path): _path(file) for file in packaged.files}
    whole = package_id(packaged)

    def at(key: str) -> dict[str, str]:
        return _ref("./" if key == whole else paths.get(key) or _local(key))

    made = [at(key) for key, role in event.objects if role is terms.OUTCOME]
    used = [at(key) for key, role in event.objects if role is not terms.OUTCOME]
    people = [one for one, _ in event.agents if one.kind in {"person", "organization"}]
    tools = [one for one, _ in event.agents if one.kind not in {"person", "organization"}]
    outcome = event.outcome.label if isinstance(event.outcome, terms.Term) else event.outcome
    is_time = is_moment(event.when) or is_calendar(event.when)
    told = [*event.details, *([f"outcome: {outcome}"] if outcome else []), event.note]
    # A doubted date or a stretch of time is none of ISO 8601-1, which RO-Crate has.
    told += [f"when: {event.when}"] if not is_time and event.when != UNKNOWN_DATE else []
    action: Entity = {
        "@id": _local(event.id),
        "@type": "CreateAction" if made else "Action",
        "name": event.type.label,
        "description": "; ".join(one for one in told if one),
        "object": used,
        "result": made,
        "agent": [_ref(_who(packaged, one)) for one in people],
        "instrument": [_ref(_who(packaged, one)) for one in tools],
        "startTime": event.when if is_time else "",
    }
    return {key: value for key, value in action.items() if value}
