"""What the rooms of notes learned from made playing; the commands that write each file stand in it."""
