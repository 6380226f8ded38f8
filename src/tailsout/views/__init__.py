"""One Dossier → octets for people and programs; deterministic, no I/O.

Every view has one signature: `render(dossier, findings, assets) -> bytes`.
"""
