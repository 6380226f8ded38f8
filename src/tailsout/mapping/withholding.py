"""Takes out of a transfer what its recipient does not want to travel, and leaves the word there."""

import copy
from collections.abc import Iterable
from typing import Any

from tailsout.mapping import key_paths

WITHHELD = "withheld"


def without(data: dict[str, Any], keys: Iterable[str]) -> dict[str, Any]:
    """Return plain data of a transfer without the values at some keys, which stay in the forms.

    What says already why it is not there keeps its word.
    """
    wanted = tuple(keys)
    if not wanted:
        return data
    left = copy.deepcopy(data)
    for key in wanted:
        for one in tuple(key_paths.met(left, key)):
            if one.value is not None:
                _take_out(left, one.pointer)
    return left


def _take_out(data: dict[str, Any], pointer: str) -> None:
    *steps, last = pointer.split("/")[1:]
    holder: Any = data
    for step in steps:
        holder = holder[int(step)] if isinstance(holder, list) else holder[step]
    del holder[last]
    holder["absent"] = {**holder.get("absent", {}), last: WITHHELD}
