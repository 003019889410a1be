"""Notes to fretboard positions a hand can play; standard library and numpy only."""
