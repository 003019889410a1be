"""Which grounds are weighed, where their curves may turn, and which way each runs.

A direction is what a player would say: the surer the onset, the likelier the note. Where both are thinkable (pitch,
whether the fretting hand began it) the curve is free.
"""

from __future__ import annotations

from transcribe.training.fit_odds import Shape

LINE_ALONE = {
    "salience": Shape((0.2, 0.35, 0.5, 0.65, 0.8), 1),
    "pick": Shape((0.0, 0.3, 0.6, 0.9), 1),
    "step": Shape((0.2, 0.5, 0.8, 1.0), 1),
    "legato": Shape((0.0, 1.0), 0),
    "unknown": Shape((0.0, 1.0), -1),
    "length_s": Shape((0.04, 0.08, 0.15, 0.3), 1),
    "octave": Shape((0.1, 0.5, 1.0), -1),
    "unsteady_cents": Shape((2.0, 6.0, 12.0, 25.0), -1),
    "gestures": Shape((0.4, 0.7, 1.0), 1),
    "softer_db": Shape((6.0, 14.0, 22.0, 32.0), -1),
    "off_cents": Shape((8.0, 20.0, 35.0, 50.0), -1),
    "since_same_s": Shape((0.05, 0.1, 0.2, 0.5), 1),
    "gap_same_s": Shape((0.0, 0.03, 0.1, 0.4), 0),
    "repeats_db": Shape((0.0, 3.0, 8.0, 16.0), -1),
    "midi": Shape((40.0, 52.0, 64.0, 76.0, 88.0), 0),
}
LINE = LINE_ALONE | {
    "second_onset": Shape((0.0, 0.45, 0.7, 0.95), 1),
    "second_held": Shape((0.0, 0.3, 0.7, 1.0), 1),
    "second_other": Shape((0.0, 0.3, 0.8), -1),
}
SEVERAL = {
    "sure": Shape((0.0, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99), 1),
    "contour": Shape((0.5, 0.65, 0.8, 0.95), 1),
    "weakest": Shape((0.3, 0.5, 0.7, 0.9), 1),
    "held": Shape((0.3, 0.6, 0.8, 0.95), 1),
    "length_s": Shape((0.05, 0.1, 0.2, 0.4), 1),
    "rise_db": Shape((-2.0, 2.0, 6.0, 12.0, 20.0), 1),
    "late_db": Shape((-15.0, -6.0, 0.0, 6.0, 15.0), -1),
    "softer_db": Shape((3.0, 10.0, 20.0, 30.0), -1),
    "burst_db": Shape((0.0, 3.0, 6.0, 14.0), 1),
    "under": Shape((0.0, 0.3, 0.6, 1.0), -1),
    "above": Shape((0.0, 0.5, 1.0), -1),
    "combination": Shape((0.0, 0.5, 1.0), -1),
    "since_same_s": Shape((0.05, 0.1, 0.2, 0.5), 1),
    "gap_same_s": Shape((0.0, 0.03, 0.1, 0.4), 0),
    "repeats_db": Shape((0.0, 3.0, 8.0, 16.0), -1),
    "together": Shape((1.0, 2.0, 4.0, 6.0), 0),
    "unsteady_cents": Shape((2.0, 8.0, 20.0, 40.0), -1),
    "habit": Shape((0.0, 0.3, 0.7), -1),
    "legato": Shape((0.0, 1.0), 0),
    "inside": Shape((0.0, 1.0), -1),
    "midi": Shape((40.0, 52.0, 64.0, 76.0, 88.0), 0),
}
ATTACK_LINE = {
    "strike": Shape((0.1, 0.3, 0.5, 0.7, 0.9), 1),
    "legato": Shape((0.0, 1.0), 0),
    "second_onset": Shape((0.0, 0.45, 0.7, 0.95), 0),
    "agrees": Shape((0.0, 0.5, 1.0), 1),
    "since_same_s": Shape((0.1, 0.3, 0.6), 0),
    "softer_db": Shape((3.0, 10.0, 20.0), 0),
}
ATTACK_SEVERAL = {
    "sure": Shape((0.5, 0.6, 0.7, 0.8, 0.9, 0.97), 1),
    "plain": Shape((0.0, 0.2, 0.5, 0.8, 0.95), 1),
    "legato": Shape((0.0, 1.0), 0),
    "burst_db": Shape((0.0, 4.0, 8.0, 14.0), 0),
    "rise_db": Shape((0.0, 4.0, 10.0, 20.0), 0),
    "together": Shape((1.0, 2.0, 4.0), 0),
}
