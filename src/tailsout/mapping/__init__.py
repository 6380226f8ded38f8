"""The only place that knows a standard's shape and our records at once."""
