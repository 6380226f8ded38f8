"""An acceptance as tables and as JSON, and the list by which reels go back."""

from tailsout.mapping import csv_rows
from tailsout.mapping.plain import json_page, plain
from tailsout.mapping.schemas import urn
from tailsout.records.acceptance import Acceptance

SCHEMA = urn("acceptance-0.1")
_BETWEEN = "; "


def table(acceptance: Acceptance) -> bytes:
    """Return what was decided, one row a package."""
    columns = (
        *("package", "decision", "verdict", "flags", "title", "identifiers", "supersedes"),
        "tag manifests (sha512)",
    )
    return csv_rows.write(
        columns,
        (
            (
                one.package,
                one.decision,
                one.verdict,
                _BETWEEN.join(one.flags),
                one.title,
                _BETWEEN.join(one.identifiers),
                one.supersedes,
                _BETWEEN.join(f"{name} {digest}" for name, digest in one.tag_manifests.items()),
            )
            for one in acceptance.packages
        ),
    )


def return_list(acceptance: Acceptance) -> bytes:
    """Return the reels that may go back, with blanks for whoever takes them."""
    return csv_rows.write(
        ("package", "identifiers", "title", "returned on", "by", "received by"),
        (
            (one.package, _BETWEEN.join(one.identifiers), one.title, "", "", "")
            for one in acceptance.taken
        ),
    )


def page(acceptance: Acceptance) -> bytes:
    """Return the acceptance as JSON."""
    return json_page({"schema": SCHEMA, **plain(acceptance)})
