"""Hear a recorded guitar lick and write it down: audio to notes to a notated score."""
