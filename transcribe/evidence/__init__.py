"""Samples to what can be measured in them, frame by frame."""
