"""The figures of a bend in words and as JSON."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest

from fingering.passage import Placement
from transcribe.document.model import Instrument, TakeDocument, TakeNote
from transcribe.errors import SettingsError
from transcribe.notes.note import Bend, Contour, Note
from transcribe.rhythm.rhythm import Meter, Rhythm, Timing
from transcribe.write.bend_report import bend_report, bent_notes, place, report_json, report_text

CURVE = Contour(1.0, 0.01, tuple([0.0] * 20 + [13.0 * k for k in range(15)] + [191.0, 193.0, 195.0] * 20))
BENT = TakeNote(
    Note("n2", 1.0, 2.0, 62, bends=(Bend("bend", 1.2, 1.35, 1.95, 200.0, 193.0),), contour=CURVE),
    placement=Placement("n2", 3, 7, 3),
    timing=Timing(2, Fraction(3, 2), Fraction(1)),
)
RHYTHM = Rhythm(90.0, Meter(4, 4), 0.0)
PLAIN = TakeNote(Note("n1", 0.2, 0.9, 60))


def document(*notes: TakeNote, offset_cents: float | None = -4.0) -> TakeDocument:
    return TakeDocument(notes=notes, instrument=Instrument(tuning_offset_cents=offset_cents), rhythm=RHYTHM)


def report_of(*notes: TakeNote, offset_cents: float | None = -4.0, **options: object):  # type: ignore[no-untyped-def]
    return bend_report(document(*notes, offset_cents=offset_cents), take="lick.wav", tolerance_cents=10.0, **options)


def test_the_words_hold_every_figure() -> None:
    text = report_text(report_of(PLAIN, BENT))
    assert "lick.wav: 1 of 1 bend in tune" in text
    assert "guitar 4.0 cents flat of A = 440 Hz" in text
    assert "n2 · bar 2, beat 2½ · string 3, fret 7 · fretted D4" in text
    assert "whole-step bend: in tune, 7 cents flat (tolerance 10 cents)" in text
    assert "from 1.20 s, target E4 (+200 cents), reached +193 cents" in text
    # 7 flat of a guitar that is itself 4 flat is 11 flat of the reference
    assert "7.0 cents flat against the guitar's own tuning, 11.0 cents flat against A = 440 Hz" in text
    assert "0.15 s to reach it, held 0.60 s, steady to ±1.6 cents" in text


def test_json_holds_the_same_figures() -> None:
    data = json.loads(json.dumps(report_json(report_of(PLAIN, BENT))))
    (bend,) = data["bends"]
    assert (bend["note"], bend["bar"], bend["beat"], bend["string"], bend["fret"]) == ("n2", 2, "3/2", 3, 7)
    assert (bend["target_cents"], bend["reached_cents"], bend["error_cents"]) == (200, 193, -7)
    assert bend["error_from_reference_cents"] == -11
    assert bend["in_tune"] is True
    assert data["tuning_offset_cents"] == -4


def test_a_given_target_replaces_the_guessed_one() -> None:
    report = report_of(BENT, targets_cents={"n2": 300.0})
    (measure,) = report.measures
    assert (measure.target_cents, measure.error_cents, measure.in_tune) == (300.0, -107.0, False)


@pytest.mark.parametrize(("note", "found"), [("n1", "note n1 is not bent"), ("n9", "there is no note n9")])
def test_a_target_for_a_note_that_is_not_bent(note: str, found: str) -> None:
    with pytest.raises(SettingsError, match=found) as error:
        report_of(PLAIN, BENT, targets_cents={note: 200.0})
    assert error.value.mend == "Bent notes: n2."


def test_no_bends_is_said_plainly() -> None:
    report = report_of(PLAIN)
    assert report_text(report) == "lick.wav: no bends: no note of this take is bent, so there is nothing to measure."
    assert report_json(report)["bends"] == []
    assert bent_notes(report) == []


def test_an_unmeasured_tuning_is_said() -> None:
    text = report_text(report_of(BENT, offset_cents=None))
    assert "own tuning not measured" in text
    assert "against A = 440 Hz" not in text


def test_a_note_without_bar_or_place_is_found_by_its_time() -> None:
    assert place(TakeNote(Note("n7", 3.25, 4.0, 64)), None) == "n7 · 3.25 s · fretted E4"


def test_only_notes_with_a_curve_are_drawn() -> None:
    bare = TakeNote(Note("n3", 2.0, 3.0, 64, bends=(Bend("bend", 2.1, 2.2, 2.9, 100.0, 99.0),)))
    assert [bent.note.id for bent in bent_notes(report_of(BENT, bare))] == ["n2"]
