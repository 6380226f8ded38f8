"""Receipts and acceptances as what happened to one package after it had been made."""

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from tailsout.ground.digests import digests_of
from tailsout.ground.errors import MaterialError
from tailsout.mapping import schemas, strict_json
from tailsout.records.later_events import Afterwards

_NEXT = "Name a receipt or an acceptance that tailsout wrote of this package."


def read(content: bytes, name: str, known: Collection[str]) -> Afterwards:
    """Read a document called `name`; `known` are digests of the package's tag manifests.

    Those of an archive may be among them. What a package is called does not count, but which octets
    it has. Raises MaterialError for what is no such document, or tells of other packages.
    """
    try:
        told: Any = strict_json.load(content)
    except strict_json.StrictJsonError as error:
        raise MaterialError(f"{name} is not JSON: {error}.", _NEXT) from error
    named = told.get("schema") if isinstance(told, dict) else None
    for schema, reader in _READERS.items():
        if named == schemas.urn(schema) and not schemas.faults(told, schema):
            found = reader(told, known)
            if found is None:
                raise MaterialError(f"{name} tells of no package with these octets.", _NEXT)
            return Afterwards(sha512=digests_of(content, ("sha512",))["sha512"], **found)
    raise MaterialError(f"{name} is neither receipt nor acceptance.", _NEXT)


def _is_of(stated: Mapping[str, str], known: Collection[str]) -> bool:
    return bool(stated) and all(digest in known for digest in stated.values())


def _closed(told: Any, known: Collection[str]) -> dict[str, Any] | None:  # noqa: ANN401  JSON
    pinned = told["tag_manifests"].values()
    if not pinned or not all(_is_of(digests, known) for digests in pinned):
        return None
    return {
        "what": "fixity check",
        "when": told["committed"],
        "software": told["software"],
        "details": (
            f"the package as it was named: {told['read_back']}",
            f"{told['files']} files, {told['octets']} octets, {told['durability']}",
            *(f"not promised by the file system: {one}" for one in told.get("not_promised", ())),
            f"judged: {told['verdict']}",
        ),
        "outcome": "success",
    }


def _arrived(told: Any, known: Collection[str]) -> dict[str, Any] | None:  # noqa: ANN401  JSON
    one = next((p for p in told["packages"] if _is_of(p.get("tag_manifests", {}), known)), None)
    if one is None:
        return None
    names = {one["package"], one["package"].rpartition("/")[2]}
    differs = [d["text"] for d in told.get("differences", ()) if d["package"] in names]
    listed = "as the sender's list has it" if told.get("manifest") else "no list of the sender came"
    return {
        "what": "receipt",
        "when": told["received"],
        "software": told["software"],
        "details": (
            f"delivery {told['number']} on drive {told['drive']}, as {one['package']}",
            f"{one['files']} files, {one['octets']} octets",
            *_of_drive(told),
        ),
        "outcome": "; ".join(differs) or listed,
    }


def _of_drive(told: Any) -> Iterator[str]:  # noqa: ANN401  JSON
    if "mounted_read_only" in told:
        how = "read-only" if told["mounted_read_only"] else "so that it could be written to"
        yield f"the drive was mounted {how}"
    for one in told.get("happenings", ()):
        yield f"{one['what']}: {one['told']}"


def _accepted(told: Any, known: Collection[str]) -> dict[str, Any] | None:  # noqa: ANN401  JSON
    packages = told["packages"]
    one = next((p for p in packages if _is_of(p.get("tag_manifests", {}), known)), None)
    if one is None:
        return None
    flags = ", ".join(one.get("flags", ()))
    return {
        "what": "acceptance",
        "when": told["accepted"],
        "software": told["software"],
        "by": told["by"],
        "details": (
            f"acceptance {told['number']}, judged: {one['verdict']}{': ' if flags else ''}{flags}",
            told.get("note", ""),
        ),
        "outcome": one["decision"],
    }


_READERS = {"receipt-0.1": _closed, "arrival-0.1": _arrived, "acceptance-0.1": _accepted}
