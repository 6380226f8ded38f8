"""A receipt beside a package, read back."""

from collections.abc import Mapping
from typing import Any

from tailsout.ground.digests import ALGORITHMS
from tailsout.mapping import schemas, strict_json


def tag_manifests(content: bytes, package_id: str) -> Mapping[str, Mapping[str, str]] | None:
    """Return the digests of each tag manifest by algorithm, as a receipt of a package tells them.

    None if the octets are no receipt, that of another package, or one that proves nothing.
    """
    try:
        told: Any = strict_json.load(content)
    except strict_json.StrictJsonError:
        return None
    if schemas.faults(told, "receipt-0.1") or told["package_id"] != package_id:
        return None
    found: Mapping[str, Mapping[str, str]] = told["tag_manifests"]
    is_proof = bool(found) and all(one and set(one) <= set(ALGORITHMS) for one in found.values())
    return found if is_proof else None
