"""One verb a module: what the doors call. Takes ports, returns values, prints nothing."""
