"""Studio and job folders, as people write them in TOML."""
