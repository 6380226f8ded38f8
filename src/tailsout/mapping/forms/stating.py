"""The tables of a job → one Transfer, every fault of every form told at once.

Times become sample positions before the schemas are applied. What a job inherits from its studio
is frozen into the Transfer as it stands that day.
"""

from collections.abc import Iterator, Mapping
from typing import Any

import msgspec

from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Finding, Place
from tailsout.ground.units import printable, samples_at
from tailsout.mapping import schemas
from tailsout.mapping.forms.reading import (
    FORM_REFERENCE,
    FORM_VALUE,
    Form,
    JobForms,
    dotted,
    places_in,
)
from tailsout.mapping.toml_lines import lines_of
from tailsout.records.transfer import Transfer


def transfer_of(
    forms: JobForms, rates: Mapping[str, int]
) -> tuple[Transfer | None, tuple[Finding, ...], Mapping[str, Place]]:
    """Check all forms and make the Transfer they state.

    `rates` gives the sample rate of each capture by its id, so that times become positions; a
    capture that is not there makes its times count in seconds, which a later read puts right.
    Returns None with findings if anything is wrong; the places are JSON pointers into the
    Transfer.
    """
    _positions(forms.job.data, rates)
    findings = [
        *_schema_findings(forms.job, "job-0.1"),
        *_schema_findings(forms.studio, "studio-0.1"),
        *_schema_findings(forms.people, "people-0.1"),
        *_schema_findings(forms.recipient, "recipient-0.1"),
    ]
    for form in forms.machines.values():
        findings.extend(_schema_findings(form, "machine-0.1"))
    if findings:
        return None, tuple(findings), {}
    findings = list(_reference_findings(forms))
    if findings:
        return None, tuple(findings), {}
    data, places = _assemble(forms)
    faults = schemas.faults(data, "sidecar-0.1", "transfer")
    if faults:
        # The forms' schemas refer into the side-car's, so this is our fault, not the writer's.
        raise AssertionError(f"forms passed but the transfer does not: {faults[0]}")
    return msgspec.convert(data, Transfer, strict=False), (), places


def _positions(job: dict[str, Any], rates: Mapping[str, int]) -> None:
    for region in _regions(job):
        rate = rates.get(str(region.get("capture")), 1)
        for key in ("start", "end"):
            value = region.get(key)
            if isinstance(value, str):
                try:
                    region[key] = samples_at(value, rate)
                except MaterialError:
                    continue  # the schema names it, with its line


def _regions(job: dict[str, Any]) -> Iterator[dict[str, Any]]:
    reel = job.get("reel")
    sides = reel.get("sides") if isinstance(reel, dict) else None
    for side in sides if isinstance(sides, list) else ():
        regions = side.get("regions") if isinstance(side, dict) else None
        for region in regions if isinstance(regions, list) else ():
            if isinstance(region, dict):
                yield region


def _schema_findings(form: Form | None, name: str) -> Iterator[Finding]:
    if form is None:
        return
    faults = schemas.faults(form.data, name)
    lines = lines_of(form.text, [(f.pointer, f.key) for f in faults])
    for fault in faults:
        place = Place(
            file=form.name,
            line=lines.get((fault.pointer, fault.key)),
            part=dotted(fault.pointer, fault.key),
        )
        yield FORM_VALUE.at(place, str(fault))


def _reference_findings(forms: JobForms) -> Iterator[Finding]:
    broken = tuple(_broken_references(forms))
    places = places_in(forms.job, (pointer for pointer, _ in broken))
    for pointer, text in broken:
        yield FORM_REFERENCE.at(places[pointer], text)


def _broken_references(forms: JobForms) -> Iterator[tuple[str, str]]:
    """Yield the pointer into the job form, and what is wrong there."""
    job = forms.job.data
    if forms.studio is None:
        shown = printable(str(job.get("studio", "the studio folder")))
        yield "/studio", f"{shown} holds no studio.toml; correct the path."
    if "recipient" in job and forms.recipient is None:
        yield "/recipient", f"there is no recipients/{job['recipient']}.toml in the studio folder."
    reel = job.get("reel", {})
    passes = job.get("passes", ())
    captures = job.get("captures", ())
    yield from _unknown(
        ((f"/passes/{i}/machine", p.get("machine")) for i, p in enumerate(passes)),
        sorted(forms.machines),
        "machine",
    )
    yield from _unknown(
        ((f"/captures/{i}/pass_id", c.get("pass_id")) for i, c in enumerate(captures)),
        [p["id"] for p in passes],
        "pass",
    )
    for key, known, what in (
        ("capture", [c["id"] for c in captures], "capture"),
        ("stock", [s["id"] for s in reel.get("stock", ())], "stock section"),
    ):
        yield from _unknown(_region_values(reel, key), known, what)
    for pointer, entries in _id_lists(job):
        ids = [entry["id"] for entry in entries]
        for index, one in enumerate(ids):
            if one in ids[:index]:
                yield f"{pointer}/{index}/id", f"the id {one!r} stands twice."


def _region_values(reel: dict[str, Any], key: str) -> Iterator[tuple[str, object]]:
    for s, side in enumerate(reel.get("sides", ())):
        for r, region in enumerate(side.get("regions", ())):
            yield f"/reel/sides/{s}/regions/{r}/{key}", region.get(key)


def _id_lists(job: dict[str, Any]) -> Iterator[tuple[str, list[dict[str, Any]]]]:
    reel = job.get("reel", {})
    yield "/captures", job.get("captures", [])
    yield "/passes", job.get("passes", [])
    yield "/reel/stock", reel.get("stock", [])
    yield "/reel/sides", reel.get("sides", [])
    for index, side in enumerate(reel.get("sides", ())):
        yield f"/reel/sides/{index}/regions", side.get("regions", [])


def _unknown(
    values: Iterator[tuple[str, object]], known: list[str], what: str
) -> Iterator[tuple[str, str]]:
    listed = ", ".join(known) or "none at all"
    for pointer, value in values:
        if value is not None and value not in known:
            yield pointer, f"there is no {what} {value!r}; known: {listed}."


def _assemble(forms: JobForms) -> tuple[dict[str, Any], dict[str, Place]]:
    job = forms.job.data
    used = sorted({p["machine"] for p in job.get("passes", ()) if "machine" in p})
    shelf = {p["id"]: p for p in (forms.people.data.get("people", ()) if forms.people else ())}
    own = {p["id"]: p for p in job.get("people", ())}
    everybody = {**shelf, **own}
    named = _named_people(job, [forms.machines[m].data for m in used])
    data: dict[str, Any] = {
        key: value for key, value in job.items() if key not in ("studio", "recipient", "people")
    }
    data.setdefault("reel", {})
    data["studio"] = forms.studio.data if forms.studio else {}
    data["people"] = [everybody[i] for i in sorted(everybody) if i in named or i in own]
    data["machines"] = [
        {**forms.machines[m].data, "inherited_from": forms.machines[m].name} for m in used
    ]
    if forms.recipient is not None:
        data["recipient"] = forms.recipient.data
    places = {"": Place(file=forms.job.name)}
    for index, one in enumerate(used):
        places[f"/machines/{index}"] = Place(file=forms.machines[one].name)
    return data, places


def _named_people(job: dict[str, Any], machines: list[dict[str, Any]]) -> set[str]:
    entries = [
        *job.get("passes", ()),
        *job.get("reel", {}).get("events", ()),
        *(care for machine in machines for care in machine.get("care", ())),
    ]
    return {entry["by"] for entry in entries if "by" in entry}


def with_lines(forms: JobForms, findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Give findings of the rules about a form the line they speak of."""
    places = {
        form.name: places_in(form, (f.place.part for f in findings if _is_about(form, f)))
        for form in (forms.job, *forms.machines.values())
    }
    return tuple(
        f.kind.at(places.get(f.place.file, {}).get(f.place.part, f.place), f.text) for f in findings
    )


def _is_about(form: Form, finding: Finding) -> bool:
    return finding.place.file == form.name and finding.place.line is None
