"""What a job's form names must exist: machines, sessions, passes, captures, tape sections, files.

Told together with the schema's faults, so nothing here relies on a table being as it should.
"""

from collections.abc import Iterable, Iterator, Mapping
from pathlib import PurePosixPath
from typing import Any

from tailsout.ground.findings import Finding
from tailsout.ground.portable import most_like
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.mapping.forms.form import FORM_REFERENCE, Form, places_in
from tailsout.mapping.forms.job_forms import JobForms

_Broken = Iterator[tuple[str, str]]

_WHERE = f"what is packed lies in {' or '.join(naming.PACKED_FOLDERS)} and is not hidden"


def findings(
    forms: JobForms, folder_files: frozenset[str], session_files: Mapping[str, frozenset[str]]
) -> Iterator[Finding]:
    """Yield every broken reference of a job and of its sessions, each in the form that makes it.

    `folder_files` are the files of the job's folder, `session_files` those of the folder of each
    session by its id.
    """
    job = forms.job.data
    yield from _told(
        forms.job, (*_studio(forms), *_ids(job), *_named(forms), *_files(forms, folder_files))
    )
    for session in sessions_of(forms):
        files = session_files.get(str(session.data.get("id")))
        heard = _heard(session, files) if files is not None else ()
        yield from _told(session, (*_of_session(session.data, forms), *heard))


def broken_in(transfer: dict[str, Any], files: frozenset[str]) -> tuple[tuple[str, str], ...]:
    """Return the broken references of a transfer that stands by itself: pointer and sentence.

    `files` are the photographs and documents of its package, as paths in a job.
    """

    def shelf(name: str) -> dict[str, Form]:
        entries = (one for _, one in tables(transfer.get(name)))
        return {str(one.get("id")): Form(name=name, text="", data=one) for one in entries}

    forms = JobForms(
        job=Form(name="transfer", text="", data=transfer),
        machines=shelf("machines"),
        sessions=shelf("sessions"),
    )
    images = _missing(_seen(transfer), files, "in the package")
    return (*_ids(transfer), *_named(forms), *images)


def _told(form: Form, broken: Iterable[tuple[str, str]]) -> Iterator[Finding]:
    told = tuple(broken)
    places = places_in(form, (pointer for pointer, _ in told))
    for pointer, text in told:
        yield FORM_REFERENCE.at(places[pointer], text)


def tables(value: object) -> Iterator[tuple[int, dict[str, Any]]]:
    """Yield the tables of a list of tables with their positions; nothing of anything else."""
    for index, one in enumerate(value if isinstance(value, list) else ()):
        if isinstance(one, dict):
            yield index, one


def table(value: object) -> dict[str, Any]:
    """Return a table, or an empty one for anything else."""
    return value if isinstance(value, dict) else {}


def regions(job: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield the regions of a job with the JSON pointers to them."""
    for s, side in tables(table(job.get("reel")).get("sides")):
        for r, region in tables(side.get("regions")):
            yield f"/reel/sides/{s}/regions/{r}", region


def _studio(forms: JobForms) -> _Broken:
    job = forms.job.data
    if forms.studio is None:
        shown = printable(str(job.get("studio", "the studio folder")))
        yield "/studio", f"{shown} holds no studio.toml; correct the path."
    if "recipient" in job and forms.recipient is None:
        shown = printable(str(job["recipient"]))
        text = f"there is no recipients/{shown}.toml in the studio folder"
        brought = "`tailsout begin --recipient` copies one that comes with the program"
        yield "/recipient", f"{text}; {brought}."


def _ids(job: dict[str, Any]) -> _Broken:
    reel = table(job.get("reel"))
    lists = [("/captures", job), ("/passes", job), ("/stock", reel), ("/sides", reel)]
    pointers = {"/stock": "/reel/stock", "/sides": "/reel/sides"}
    for name, inside in lists:
        yield from _twice(pointers.get(name, name), inside.get(name[1:]))
    for s, side in tables(reel.get("sides")):
        yield from _twice(f"/reel/sides/{s}/regions", side.get("regions"))


def _twice(pointer: str, value: object) -> _Broken:
    seen = set()
    for index, one in tables(value):
        key = str(one.get("id"))
        if key in seen and "id" in one:
            yield f"{pointer}/{index}/id", f"the id {printable(key)!r} stands twice."
        seen.add(key)


def _named(forms: JobForms) -> _Broken:
    job = forms.job.data
    reel = table(job.get("reel"))
    captures = [str(c.get("id")) for _, c in tables(job.get("captures"))]
    passes = [str(p.get("id")) for _, p in tables(job.get("passes"))]
    stock = [str(s.get("id")) for _, s in tables(reel.get("stock"))]
    settings = sorted(_settings(forms))
    every = list(regions(job))
    for name, value, known, what in (
        ("passes", "machine", forms.machines, "machine"),
        ("passes", "session", forms.sessions, "session"),
        ("captures", "pass_id", passes, "pass"),
        ("signal_notes", "capture", captures, "capture"),
        ("listening", "capture", captures, "capture"),
    ):
        entries = ((f"/{name}/{i}/{value}", one.get(value)) for i, one in tables(job.get(name)))
        yield from _unknown(entries, known, what)
    for value, known, what in (
        ("capture", captures, "capture"),
        ("stock", stock, "stock section"),
        ("setting", settings, "calibration setting"),
    ):
        yield from _unknown(((f"{p}/{value}", one.get(value)) for p, one in every), known, what)


def sessions_of(forms: JobForms) -> list[Form]:
    """Return the sessions that this job's passes belong to."""
    passes = tables(forms.job.data.get("passes"))
    named = sorted({str(one.get("session")) for _, one in passes})
    return [forms.sessions[name] for name in named if name in forms.sessions]


def _settings(forms: JobForms) -> Iterator[str]:
    for session in sessions_of(forms):
        for _, setting in tables(session.data.get("settings")):
            yield str(setting.get("id"))


def _of_session(session: dict[str, Any], forms: JobForms) -> _Broken:
    """Tell what a session names and the studio does not have, or has no longer."""
    yield from _twice("/settings", session.get("settings"))
    machine = [("/machine", session.get("machine"))]
    yield from _unknown(machine, forms.machines, "machine")
    converter = [("/converter", session.get("converter"))]
    yield from _unknown(converter, forms.converters, "converter")
    tapes = (
        (f"/settings/{i}/tape", setting.get("tape"))
        for i, setting in tables(session.get("settings"))
    )
    yield from _unknown(tapes, forms.calibration_tapes, "calibration tape")


def _heard(session: Form, present: frozenset[str]) -> _Broken:
    """Tell which captures of calibration tapes do not lie in the folder of their session."""
    where = f"the folder {printable(str(session.data.get('id')))} beside this form"
    for i, setting in tables(session.data.get("settings")):
        for key in ("capture", "found_capture"):
            name = setting.get(key)
            if isinstance(name, str) and PurePosixPath(name).as_posix() not in present:
                yield f"/settings/{i}/{key}", f"there is no file {printable(name)!r} in {where}."


def _unknown(
    values: Iterable[tuple[str, object]], known: Mapping[str, Form] | list[str], what: str
) -> _Broken:
    """Tell of ids that are none of the known ones; those of a shelf are known by their forms."""
    shelf = known if isinstance(known, Mapping) else {}
    listed = ", ".join(map(printable, sorted(shelf) or known)) or "none at all"
    called = {PurePosixPath(form.name).stem: (form.name, id_) for id_, form in shelf.items()}
    for pointer, value in values:
        if not isinstance(value, str) or value in known:
            continue
        text = f"there is no {what} {printable(value)!r}; known: {listed}."
        if value in called:
            name, id_ = called[value]
            text = f"{text} The id in {printable(name)} is {printable(id_)!r}."
        yield pointer, text


def _files(forms: JobForms, present: frozenset[str]) -> _Broken:
    """Photographs and other files that the form names lie in the job folder."""
    named = list(_seen(forms.job.data))
    recorded = _recorded(forms.job.data)
    yield from _missing((*named, *recorded), present, "in the job folder")
    for pointer, name in named:
        path = PurePosixPath(name).as_posix() if isinstance(name, str) else ""
        if path in present and not naming.is_kept(path):
            yield pointer, f"{printable(path)!r} would not be packed: {_WHERE}."


def _missing(named: Iterable[tuple[str, object]], present: frozenset[str], where: str) -> _Broken:
    for pointer, name in named:
        if not isinstance(name, str):
            continue
        path = PurePosixPath(name).as_posix()
        if path not in present:
            hint = most_like(path, present)
            yield pointer, f"there is no file {printable(name)!r} {where}{hint}"


def _seen(job: dict[str, Any]) -> Iterator[tuple[str, object]]:
    """Yield the photographs that a job names."""
    reel = table(job.get("reel"))
    for i, one in tables(reel.get("images")):
        yield f"/reel/images/{i}/file", one.get("file")
    for e, event in tables(reel.get("events")):
        for i, one in tables(event.get("images")):
            yield f"/reel/events/{e}/images/{i}/file", one.get("file")
    for i, words in tables(reel.get("inscriptions")):
        yield f"/reel/inscriptions/{i}/image", words.get("image")


def _recorded(job: dict[str, Any]) -> Iterator[tuple[str, object]]:
    """Yield what the recorder wrote besides the captures; it may lie anywhere in the job folder."""
    for i, capture in tables(job.get("captures")):
        yield f"/captures/{i}/at_rest", capture.get("at_rest")
