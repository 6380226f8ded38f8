"""The ground floor: standard library only; every other room may stand on it."""
