"""Bags in archives (tar, tar.gz, tar.xz, zip): read in place, packed, unpacked."""
