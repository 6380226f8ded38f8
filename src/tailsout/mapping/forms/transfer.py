"""The tables of a job → one Transfer, every fault of every form told at once.

Times become sample positions before the schemas are applied. What a job inherits from its studio
is frozen into the Transfer as it stands that day.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Finding, Place
from tailsout.ground.units import printable, samples_at
from tailsout.mapping import schemas, withholding
from tailsout.mapping.forms import meant, recipients, references
from tailsout.mapping.forms.form import FORM_VALUE, Form, place_in, places_in, schema_findings
from tailsout.mapping.forms.job_forms import JobForms
from tailsout.mapping.plain import record
from tailsout.records.machine import CalibrationTape
from tailsout.records.transfer import Transfer


def transfer_of(
    forms: JobForms,
    rates: Mapping[str, int],
    folder_files: frozenset[str] = frozenset(),
    session_files: Mapping[str, frozenset[str]] | None = None,
) -> tuple[Transfer | None, tuple[Finding, ...], Mapping[str, Place]]:
    """Check all forms and make the Transfer they state.

    `rates` gives the sample rate of each capture by its id, so that times become positions; a
    capture that is not there makes its times count in seconds, which a later read puts right.
    `folder_files` are the files of the job folder, which the form may name, `session_files` those
    of the folder of each session by its id. Returns None with findings if anything is wrong; the
    places are JSON pointers into the Transfer.
    """
    findings = list(_positions(forms.job, rates))
    no_times = {finding.place for finding in findings}
    for name, form in _used(forms):
        if form is not None:
            # That a time is not a whole number is no news to who meant a time.
            findings += (f for f in schema_findings(form, name) if f.place not in no_times)
    if forms.recipient is not None:
        findings += recipients.findings(forms.recipient)
    # A value that its schema does not allow points to nothing either: that is told once.
    told = {finding.place for finding in findings}
    broken = references.findings(forms, folder_files, session_files or {})
    findings += (f for f in broken if f.place not in told)
    if findings:
        return None, tuple(findings), {}
    data, places = _assemble(forms)
    faults = schemas.faults(data, "sidecar-0.1", "transfer")
    if faults:
        # The forms' schemas refer into the side-car's, so this is our fault, not the writer's.
        raise AssertionError(f"forms passed but the transfer does not: {faults[0]}")
    return record(data, Transfer, strict=False), (), places


def calibration_tape_of(form: Form) -> tuple[CalibrationTape | None, tuple[Finding, ...]]:
    """Check the form of a calibration tape by itself; return the tape, or what is wrong."""
    findings = tuple(schema_findings(form, "calibration-tape-0.1"))
    if findings:
        return None, findings
    return record(form.data, CalibrationTape, strict=False), ()


def _used(forms: JobForms) -> Iterator[tuple[str, Form | None]]:
    """Yield the forms that this job rests on: a fault in another one is another job's."""
    yield "job-0.1", forms.job
    yield "studio-0.1", forms.studio
    yield "people-0.1", forms.people
    passes = [one for _, one in references.tables(forms.job.data.get("passes"))]
    sessions = _on(forms.sessions, passes, "session")
    for form in sessions:
        yield "session-0.1", form
    taken = [form.data for form in sessions]
    settings = [s for one in taken for _, s in references.tables(one.get("settings"))]
    for name, shelf, entries, key in (
        ("machine-0.1", forms.machines, [*passes, *taken], "machine"),
        ("converter-0.1", forms.converters, taken, "converter"),
        ("calibration-tape-0.1", forms.calibration_tapes, settings, "tape"),
    ):
        for form in _on(shelf, entries, key):
            yield name, form


def _on(shelf: Mapping[str, Form], entries: list[dict[str, Any]], key: str) -> list[Form]:
    named = {str(one.get(key)) for one in entries}
    return [shelf[name] for name in sorted(named) if name in shelf]


def _positions(form: Form, rates: Mapping[str, int]) -> Iterator[Finding]:
    """Put sample positions where times stand, and tell of what is neither."""
    placed = list(references.regions(form.data))
    notes = references.tables(form.data.get("signal_notes"))
    placed += ((f"/signal_notes/{n}", note) for n, note in notes)
    for pointer, one in placed:
        rate = rates.get(str(one.get("capture")), 1)
        for key in ("start", "end"):
            value = one.get(key)
            if isinstance(value, str):
                try:
                    one[key] = samples_at(value, rate)
                except MaterialError:
                    shown, time = printable(value, 60), meant.clock(value)
                    text = f'found {shown!r}; wanted: a sample position, or a time as "12:34.5".'
                    if time:
                        text = f'found {shown!r}; write {key} = "{time}".'
                    yield FORM_VALUE.at(place_in(form, f"{pointer}/{key}"), text)


def _assemble(forms: JobForms) -> tuple[dict[str, Any], dict[str, Place]]:
    """Put the transfer together: the job's own tables, and what they inherit, frozen."""
    job = forms.job.data
    passes = [_inheriting(one, forms) for one in job.get("passes", ())]
    sessions = sorted({p["session"] for p in passes if "session" in p})
    taken = [forms.sessions[name].data for name in sessions]
    shelves = {
        "sessions": (forms.sessions, sessions),
        "machines": (forms.machines, _names([*passes, *taken], "machine")),
        "converters": (forms.converters, _names(taken, "converter")),
        "calibration_tapes": (
            forms.calibration_tapes,
            _names([s for one in taken for s in one.get("settings", ())], "tape"),
        ),
    }
    data: dict[str, Any] = {
        key: value for key, value in job.items() if key not in ("studio", "recipient", "people")
    }
    data.setdefault("reel", {})
    data["passes"] = passes
    data["studio"] = forms.studio.data if forms.studio else {}
    if forms.recipient is not None:
        data["recipient"] = forms.recipient.data
    chain = next((one["chain"] for one in taken if "chain" in one), None)
    if chain is not None and not _says(data, "chain"):
        data["chain"] = chain
    places = {"": Place(file=forms.job.name)}
    if forms.recipient is not None:
        places["/recipient"] = Place(file=forms.recipient.name)
    for key, (shelf, names) in shelves.items():
        data[key] = [{**shelf[name].data, "inherited_from": shelf[name].name} for name in names]
        for index, name in enumerate(names):
            places[f"/{key}/{index}"] = Place(file=shelf[name].name)
    data["people"] = _people(forms, data)
    withheld = forms.recipient.data.get("withheld", ()) if forms.recipient is not None else ()
    return withholding.without(data, withheld), places


def _names(entries: list[dict[str, Any]], key: str) -> list[str]:
    return sorted({one[key] for one in entries if key in one})


def _inheriting(one: dict[str, Any], forms: JobForms) -> dict[str, Any]:
    """Give a pass what its session says and it does not: machine, date, operator, set-up."""
    if "session" not in one:
        return one
    session = forms.sessions[one["session"]].data
    said = _joined(one, session, ("machine", "on", "by", "set_up"))
    if "set_up" in one and "set_up" in session:
        given = session["set_up"]
        said["set_up"] = _joined(one["set_up"], given, (*given, *given.get("absent", {})))
    return said


def _joined(own: dict[str, Any], given: dict[str, Any], keys: Iterable[str]) -> dict[str, Any]:
    """Add what another table says of some keys, be it only why there is no value."""
    wanted = [key for key in keys if key != "absent" and not _says(own, key)]
    words = given.get("absent", {})
    absent = {**own.get("absent", {}), **{key: words[key] for key in wanted if key in words}}
    values = {key: given[key] for key in wanted if key in given}
    return {**own, **values, **({"absent": absent} if absent else {})}


def _says(one: dict[str, Any], key: str) -> bool:
    """Tell whether a table says anything of a key: a value, or why there is none."""
    return key in one or key in one.get("absent", {})


def _people(forms: JobForms, data: dict[str, Any]) -> list[dict[str, Any]]:
    shelf = {p["id"]: p for p in (forms.people.data.get("people", ()) if forms.people else ())}
    own = {p["id"]: p for p in forms.job.data.get("people", ())}
    everybody = {**shelf, **own}
    named = _named_people(data)
    return [everybody[name] for name in sorted(everybody) if name in named or name in own]


def _named_people(data: dict[str, Any]) -> set[str]:
    """Return every word that stands under a `by`, anywhere in the transfer."""
    named = set()
    stack: list[Any] = [data]
    while stack:
        one = stack.pop()
        if isinstance(one, dict):
            if isinstance(one.get("by"), str):
                named.add(one["by"])
            stack.extend(one.values())
        elif isinstance(one, list):
            stack.extend(one)
    return named


def with_lines(forms: JobForms, findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Give findings of the rules about a form the line they speak of."""
    places = {
        form.name: places_in(form, (f.place.part for f in findings if _is_about(form, f)))
        for form in (
            forms.job,
            *((forms.recipient,) if forms.recipient is not None else ()),
            *forms.machines.values(),
            *forms.sessions.values(),
        )
    }
    return tuple(
        replace(f, place=places.get(f.place.file, {}).get(f.place.part, f.place)) for f in findings
    )


def _is_about(form: Form, finding: Finding) -> bool:
    return finding.place.file == form.name and finding.place.line is None
