"""What the notes mean."""
