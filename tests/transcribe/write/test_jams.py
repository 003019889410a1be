"""JAMS files, read back by the jams package itself, whose schemas also check them as they are written."""

import io
import sys
from dataclasses import replace
from fractions import Fraction

import jams
import pytest

from tests.score_music import take, take_note
from transcribe.cli.commands import main
from transcribe.errors import MissingExtraError
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key import Key
from transcribe.notes.note import Contour
from transcribe.write.draft_files import draft_files
from transcribe.write.jams import chord_label, jams_bytes


def loaded(document):
    return jams.load(io.StringIO(jams_bytes(document, title="Lick").decode()))


def values(file, namespace):
    (annotation,) = file.search(namespace=namespace)
    return [(each.time, each.duration, each.value) for each in annotation.data]


def test_notes_are_told_as_they_sounded():
    """Bar 1 begins at 4 s, a quarter lasts half a second: A3 and C4, the second 20 cents flat."""
    file = loaded(take("0 3 2 1", take_note("1 2 1 2", cents=-20.0, confidence=0.5)))
    assert values(file, "note_midi") == [(4.0, 0.5, 57), (4.5, 1.0, pytest.approx(59.8))]
    assert [each.confidence for each in file.search(namespace="note_midi")[0].data] == [1.0, 0.5]
    assert file.file_metadata.duration == 5.5
    assert file.file_metadata.title == "Lick"


def test_contours_are_hertz_at_the_reference():
    """A3 at 440 Hz concert pitch is 220 Hz; bent by an octave 440; unread is unvoiced."""
    item = take_note("0 3 2 1", contour=Contour(4.0, 0.01, (0.0, 1200.0, None)))
    found = values(loaded(take(item)), "pitch_contour")
    assert [time for time, _, _ in found] == pytest.approx([4.0, 4.01, 4.02])
    assert [value["frequency"] for _, _, value in found] == pytest.approx([220, 440, 0])
    assert [value["voiced"] for _, _, value in found] == [True, True, False]
    assert {value["index"] for _, _, value in found} == {0}


def test_beats_tempo_key_and_chords():
    chords = (ChordSpan(Fraction(0), Fraction(2), "A"), ChordSpan(Fraction(2), Fraction(4), "D7", over="F#"))
    file = loaded(replace(take("0 3 2 4", meter="3/4"), chords=chords, key=Key("A", "major", 0.9)))
    assert [value for _, _, value in values(file, "tempo")] == [120]
    # counted back from the downbeat at 4 s: 8 beats before it in threes
    assert [value for _, _, value in values(file, "beat")][:9] == [2, 3, 1, 2, 3, 1, 2, 3, 1]
    assert [time for time, _, _ in values(file, "beat")][8] == 4.0
    assert values(file, "key_mode") == [(0.0, 6.0, "A:major")]
    assert values(file, "chord") == [(4.0, 1.0, "A:maj"), (5.0, 1.0, "D:7/3")]


@pytest.mark.parametrize(
    ("symbol", "over", "label"),
    [
        ("C", "E", "C:maj/3"),
        ("Am", "G", "A:min/b7"),
        ("Bbmaj7", None, "Bb:maj7"),
        ("F#m7b5", None, "F#:hdim7"),
        ("E7#9", None, "E:7(#9)"),
        ("G", "G", "G:maj"),
        ("Gsomething", None, "X"),
        ("?", None, "X"),
    ],
)
def test_chord_labels(symbol, over, label):
    """C. Harte et al., "Symbolic representation of musical chords", ISMIR 2005."""
    assert chord_label(symbol, over) == label


def test_without_the_package_the_error_says_how_to_get_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "jams", None)
    with pytest.raises(MissingExtraError, match="jams") as caught:
        jams_bytes(take("0 3 2 1"))
    assert "takesheet[jams]" in caught.value.mend


def test_a_draft_holds_it_only_when_asked():
    document = take("0 3 2 1", "1 2 1 2")
    assert ".jams" not in draft_files(document, title="Lick")
    assert draft_files(document, title="Lick", also=["jams"])[".jams"] == jams_bytes(document, title="Lick")


def test_a_missing_package_is_told_before_any_take_is_heard(monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "jams", None)
    assert main(["draft", "no-such-take.wav", "--also", "jams"]) == 2
    told = capsys.readouterr().err.strip().splitlines()
    assert len(told) == 2
    assert "needs the package" in told[0] or "need the package" in told[0]
