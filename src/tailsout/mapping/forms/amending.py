"""The form of an amendment, `amendment.toml` → what is wished, with its places."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from tailsout.ground.findings import Finding, Place
from tailsout.mapping.amending import Wish
from tailsout.mapping.forms.form import FORM_VALUE, Form, form_at, places_in, schema_findings

SCHEMA_NAME = "amendment-0.1"


@dataclass(frozen=True, slots=True, kw_only=True)
class FileWish:
    """One file that is to be added, withdrawn, replaced or renamed."""

    path: str
    """Path in the package."""
    change: Literal["added", "withdrawn", "replaced", "renamed"]
    source: str | None
    """Path of the new file from the folder of the form."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AmendmentForm:
    """What a person wants put right."""

    form: Form
    by: str
    on: str
    why: str
    statements: tuple[Wish, ...]
    files: tuple[FileWish, ...]
    algorithms: tuple[str, ...]

    def places(self, *pointers: str) -> Mapping[str, Place]:
        """Return where some parts of the form stand, by their JSON pointers in it."""
        return places_in(self.form, pointers)


def read(path: Path) -> tuple[AmendmentForm | None, tuple[Finding, ...]]:
    """Read and check a form. None and findings if it has faults.

    Raises SurroundingsError if it cannot be opened.
    """
    form, found = form_at(path)
    if form is None:
        return None, found
    faults = tuple(schema_findings(form, SCHEMA_NAME))
    if faults:
        return None, faults
    wished = AmendmentForm(
        form=form,
        by=form.data["by"],
        on=form.data["on"],
        why=form.data["why"],
        statements=tuple(_wish(one) for one in form.data.get("statements", ())),
        files=tuple(
            FileWish(path=one["path"], change=one["change"], source=one.get("from"))
            for one in form.data.get("files", ())
        ),
        algorithms=tuple(form.data.get("algorithms", ())),
    )
    if not (wished.statements or wished.files or wished.algorithms):
        return None, (FORM_VALUE.at(Place(file=form.name, line=1), "it changes nothing."),)
    return wished, tuple(_faults_of_files(wished))


def _wish(table: dict[str, Any]) -> Wish:
    # A word for what is absent was moved aside when the form was read.
    now = table.get("now", table.get("absent", {}).get("now"))
    return Wish(at=table["at"], change=table["change"], now=now)


def _faults_of_files(wished: AmendmentForm) -> list[Finding]:
    wrong: dict[str, str] = {}
    seen: set[str] = set()
    for index, one in enumerate(wished.files):
        at = f"/files/{index}"
        if one.path in seen:
            wrong[f"{at}/path"] = "the path stands twice."
        seen.add(one.path)
        if (one.source is None) != (one.change in {"withdrawn", "renamed"}):
            lacking = one.source is None
            wrong[at] = (
                f"what is {one.change} needs a `from`."
                if lacking
                else f"what is {one.change} has no `from`."
            )
    places = wished.places(*wrong)
    return [FORM_VALUE.at(places[pointer], text) for pointer, text in wrong.items()]
