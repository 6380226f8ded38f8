"""What a job's form names must exist: machines, sessions, passes, captures, tape sections, files.

Told together with the schema's faults, so nothing here relies on a table being as it should.
"""

from collections.abc import Iterable, Iterator
from pathlib import PurePosixPath
from typing import Any

from tailsout.ground.findings import Finding
from tailsout.ground.units import printable
from tailsout.mapping.forms.reading import FORM_REFERENCE, JobForms, places_in

_Broken = Iterator[tuple[str, str]]


def findings(forms: JobForms, folder_files: frozenset[str]) -> Iterator[Finding]:
    """Yield every broken reference of a job; `folder_files` are the files of its folder."""
    broken = (*_studio(forms), *_ids(forms.job.data), *_named(forms), *_files(forms, folder_files))
    places = places_in(forms.job, (pointer for pointer, _ in broken))
    for pointer, text in broken:
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
        yield "/recipient", f"there is no recipients/{shown}.toml in the studio folder."


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
        ("passes", "machine", sorted(forms.machines), "machine"),
        ("passes", "session", sorted(forms.sessions), "session"),
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
    yield from _of_sessions(forms)


def _settings(forms: JobForms) -> Iterator[str]:
    """Yield the calibration settings of the sessions that this job's passes belong to."""
    for _, one in tables(forms.job.data.get("passes")):
        session = forms.sessions.get(str(one.get("session")))
        for _, setting in tables(session.data.get("settings")) if session else ():
            yield str(setting.get("id"))


def _of_sessions(forms: JobForms) -> _Broken:
    """Tell where the job names it that a session names what the studio no longer has."""
    for i, one in tables(forms.job.data.get("passes")):
        session = forms.sessions.get(str(one.get("session")))
        if session is None:
            continue
        wanted = [("machine", session.data.get("machine"), forms.machines)]
        wanted.append(("converter", session.data.get("converter"), forms.converters))
        for _, setting in tables(session.data.get("settings")):
            wanted.append(("calibration tape", setting.get("tape"), forms.calibration_tapes))
        for what, name, known in wanted:
            if isinstance(name, str) and name not in known:
                shown = printable(name)
                yield (
                    f"/passes/{i}/session",
                    f"{session.name} names the {what} {shown!r}, which the studio does not have.",
                )


def _unknown(values: Iterable[tuple[str, object]], known: list[str], what: str) -> _Broken:
    listed = ", ".join(map(printable, known)) or "none at all"
    for pointer, value in values:
        if isinstance(value, str) and value not in known:
            yield pointer, f"there is no {what} {printable(value)!r}; known: {listed}."


def _files(forms: JobForms, present: frozenset[str]) -> _Broken:
    """Photographs and other files that the form names lie in the job folder."""
    reel = table(forms.job.data.get("reel"))
    named = [(f"/reel/images/{i}/file", one.get("file")) for i, one in tables(reel.get("images"))]
    for e, event in tables(reel.get("events")):
        for i, one in tables(event.get("images")):
            named.append((f"/reel/events/{e}/images/{i}/file", one.get("file")))
    for i, words in tables(reel.get("inscriptions")):
        named.append((f"/reel/inscriptions/{i}/image", words.get("image")))
    for i, capture in tables(forms.job.data.get("captures")):
        named.append((f"/captures/{i}/at_rest", capture.get("at_rest")))
    for pointer, name in named:
        if isinstance(name, str) and PurePosixPath(name).as_posix() not in present:
            yield pointer, f"there is no file {printable(name)!r} in the job folder."
