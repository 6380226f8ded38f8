"""Trade arithmetic: pure functions over plain numbers; knows tape, not our records."""
