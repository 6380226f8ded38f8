"""JSON of strangers' texts (RFC 8259): what Unicode does not hold is replaced, books are cut."""

from tailsout.mapping.plain import json_page
from tailsout.views.losses import MOST_CHARACTERS


def document(value: object) -> bytes:
    """Return a document of plain data, indented, in UTF-8."""
    return json_page(_holdable(value))


def _holdable(value: object) -> object:
    if isinstance(value, str):
        cut = value[:MOST_CHARACTERS]
        more = f"…({len(value) - len(cut)} more)" if len(cut) < len(value) else ""
        return cut.encode("utf-8", "replace").decode("utf-8") + more
    if isinstance(value, dict):
        return {str(_holdable(key)): _holdable(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_holdable(one) for one in value]
    return value
