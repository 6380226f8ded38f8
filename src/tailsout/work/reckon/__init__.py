"""Trade sums, each with its formula, the numbers put in, and its source."""
