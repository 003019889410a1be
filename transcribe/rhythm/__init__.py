"""Seconds to musical time."""
