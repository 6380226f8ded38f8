"""What may be done with the recording, as it is stated."""

from collections.abc import Iterator

from tailsout.views.packaged import Packaged
from tailsout.views.premis.identifiers import recording_id
from tailsout.views.premis.parts import UUID, Entity, identifier, link, made
from tailsout.views.premis.terms import own
from tailsout.views.rows import pairs


def rights(packaged: Packaged) -> Iterator[Entity]:
    """Yield the rights statement, if there is one."""
    transfer = packaged.transfer
    recording = transfer.recording if transfer is not None else None
    if recording is None or recording.rights is None:
        return
    stated = recording.rights
    key = packaged.id("/recording/rights")
    documented = None
    if stated.statement:
        documented = made(
            "otherRightsDocumentationIdentifier",
            [
                made("otherRightsDocumentationIdentifierType", "URI"),
                made("otherRightsDocumentationIdentifierValue", stated.statement),
            ],
        )
    notes = [f"{label}: {text}" for label, text in pairs(stated, but=("statement",))]
    yield Entity(
        id=key,
        element=made(
            "rights",
            [
                made(
                    "rightsStatement",
                    [
                        identifier("rightsStatement", key, UUID),
                        made("rightsBasis", "other"),
                        made(
                            "otherRightsInformation",
                            [
                                documented,
                                made("otherRightsBasis", own("rights-basis", "as stated")),
                                *(made("otherRightsNote", note) for note in notes),
                            ],
                        ),
                        link("Object", recording_id(packaged)),
                    ],
                )
            ],
        ),
    )
