"""A file or a microphone to samples."""
