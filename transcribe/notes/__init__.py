"""Evidence to notes with gestures."""
