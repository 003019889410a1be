import numpy as np
import pytest

from tests.signals import hz, placed, plucked, recording, steady
from transcribe.notes.note import Note
from transcribe.notes.piano_law import LAW_LOG, LAW_MIDI, LAW_SLOPE, curve_likeness, piano_likeness

PITCHES = (48, 53, 57, 60, 64, 69)
# Stretch of open guitar strings 6 to 1 (round values of light sets; rising by 2^(1/6) a fret, Fletcher 1964)
OPEN = {40: 1.3e-4, 45: 6.6e-5, 50: 5.1e-5, 55: 1.1e-4, 59: 4.0e-5, 64: 1.6e-5}


def of_a_piano(midi):
    return float(np.exp(LAW_LOG + LAW_SLOPE * (midi - LAW_MIDI)))


def of_a_guitar(midi):
    string = max(each for each in OPEN if each <= midi)
    return OPEN[string] * 2 ** ((midi - string) / 6)


def take(stretch_of):
    """One note after another; f of the formula is set so that the first partial stands at its pitch."""
    parts, notes = [], []
    for k, midi in enumerate(PITCHES):
        stretch = stretch_of(midi)
        tone = plucked(steady(hz(midi) / np.sqrt(1 + stretch), 0.7), stretch=stretch, decay_s=4.0)
        parts.append((0.2 + 0.8 * k, tone))
        notes.append(Note(f"n{k}", 0.2 + 0.8 * k, 0.9 + 0.8 * k, midi, 0.0, confidence=0.99))
    return recording(placed(*parts, seconds=0.4 + 0.8 * len(PITCHES))), notes


def test_a_piano_lies_on_its_curve():
    assert piano_likeness(*take(of_a_piano)) > 0.8


def test_a_guitar_does_not():
    assert piano_likeness(*take(of_a_guitar)) < 0.1


@pytest.mark.parametrize(
    "read",
    [
        [(m, LAW_LOG + LAW_SLOPE * (m - LAW_MIDI)) for m in (48, 60, 67)],  # too few
        [(m, LAW_LOG + LAW_SLOPE * (m - LAW_MIDI)) for m in (57, 58, 59, 60)],  # too near each other
        [(m, LAW_LOG - 1.5 + LAW_SLOPE * (m - LAW_MIDI)) for m in (48, 55, 60, 67)],  # one guitar string far up
        [],
    ],
)
def test_little_is_said_of_little(read):
    assert curve_likeness(read) < 0.05
