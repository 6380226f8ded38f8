"""What `amend` does: reads the old version, holds the wishes against it, lays out the new one."""
