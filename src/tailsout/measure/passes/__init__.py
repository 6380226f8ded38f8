"""Two passes of one recording laid on each other: offset, speed, wander, level band by band."""
