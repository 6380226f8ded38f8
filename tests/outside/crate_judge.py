"""Holds RO-Crates against a profile of roc-validator, and prints what it has against each.

    CRATE_PYTHON tests/outside/crate_judge.py CONTEXT FOLDER…

To be run by the python of a folder that has roc-validator installed, which wants other versions of
`rich` and `click` than users get. The validator asks the network for the context of RO-Crate:
here it is answered with the file CONTEXT, and with a failure whatever else it asks for.
"""

import json
import sys
from collections.abc import Callable
from pathlib import Path
from unittest.mock import patch

import requests
from rocrate_validator import services
from rocrate_validator.models import Severity, ValidationSettings

PROFILE = "ro-crate-1.2"
CONTEXT = "https://w3id.org/ro/crate/1.2/context"


def answering(context: bytes) -> Callable[..., requests.Response]:
    """Return what answers every request for the context with these octets; all others fail."""

    def request(_session: object, _method: str, url: str, **_more: object) -> requests.Response:
        if url != CONTEXT:
            raise requests.ConnectionError(f"{url} is not fetched")
        told = requests.Response()
        told.status_code = 200
        told._content = context
        told.headers["Content-Type"] = "application/ld+json"
        return told

    return request


def judged(folder: str) -> list[list[str]]:
    """Return severity, check and message of everything that is recommended and not so."""
    settings = ValidationSettings(
        rocrate_uri=folder,
        profile_identifier=PROFILE,
        requirement_severity=Severity.RECOMMENDED,
        no_cache=True,
    )
    issues = services.validate(settings).get_issues()
    return [[one.severity.name, one.check.identifier, one.message] for one in issues]


if __name__ == "__main__":
    answers = answering(Path(sys.argv[1]).read_bytes())
    with patch.object(requests.Session, "request", answers):
        json.dump({folder: judged(folder) for folder in sys.argv[2:]}, sys.stdout)
