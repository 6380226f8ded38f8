"""RFC 8493 on disk: bags are opened, proved, planned and built here."""
