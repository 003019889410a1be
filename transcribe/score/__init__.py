"""Timed notes and positions to notation."""
