"""Names of files by a recipient's template: read, filled, read back, and put on a job."""
