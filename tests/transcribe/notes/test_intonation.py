import numpy as np
import pytest

from transcribe.errors import NoteError
from transcribe.notes.intonation import held_pitch_cents, measure_bends, nearest_size_cents
from transcribe.notes.note import Bend, Contour, Note

HOP_S = 0.01


def bent(reached, *, target=200.0, sway=0.0, kind="bend"):
    """A note of 1 s whose pitch leaves at 0.2 s, arrives at 0.3 s, and is held with a sway (sine, 5 Hz)."""
    t = np.arange(100) * HOP_S
    cents = reached * np.clip((t - 0.2) / 0.1, 0, 1) + np.where(t > 0.3, sway * np.sin(2 * np.pi * 5 * (t - 0.3)), 0)
    contour = Contour(0.0, HOP_S, tuple(float(c) for c in cents))
    return Note("n1", 0.0, 1.0, 60, cents=0.0, bends=(Bend(kind, 0.2, 0.3, 1.0, target, reached),), contour=contour)


def measure(note, **given):
    (found,) = measure_bends(note, **{"tuning_offset_cents": 0.0, "tolerance_cents": 10.0, **given})
    return found


def test_a_flat_bend_by_hand():
    found = measure(bent(182.0))
    assert found.error_cents == -18.0
    assert not found.in_tune
    assert found.time_to_reach_s == pytest.approx(0.1)
    assert found.held_s == pytest.approx(0.7)
    assert abs(found.start_cents) < 1
    assert "did not get there" in found.verdict
    assert "18 cents flat" in found.verdict
    assert "tolerance 10 cents" in found.verdict


def test_within_the_tolerance_is_in_tune():
    assert measure(bent(193.0)).in_tune
    assert "in tune" in measure(bent(193.0)).verdict
    assert not measure(bent(193.0), tolerance_cents=5.0).in_tune


def test_the_reference_hears_the_guitars_own_tuning_as_well():
    found = measure(bent(195.0), tuning_offset_cents=-12.0)
    assert found.error_cents == -5.0
    assert found.error_from_reference_cents == -17.0


def test_a_given_target_counts_for_bends_and_not_for_releases():
    assert measure(bent(182.0), target_cents=150.0).error_cents == 32.0
    assert measure(bent(4.0, target=0.0, kind="release"), target_cents=150.0).error_cents == 4.0


def test_steadiness_is_the_standard_deviation_while_held():
    assert measure(bent(200.0)).steadiness_cents == pytest.approx(0.0, abs=0.5)
    assert measure(bent(200.0, sway=20.0)).steadiness_cents == pytest.approx(20 / np.sqrt(2), abs=1.5)


def test_a_curl_is_a_range():
    found = measure(bent(66.0, target=50.0))
    assert found.in_tune
    assert found.tolerance_cents == 20.0


def test_without_a_contour_nothing_is_said_of_steadiness():
    plain = Note("n1", 0.0, 1.0, 60, bends=(Bend("bend", 0.2, 0.3, 1.0, 100.0, 104.0),))
    assert measure(plain).steadiness_cents is None
    assert measure(plain).error_cents == 4.0


def test_every_bend_of_a_note_is_measured_in_order():
    bends = (Bend("pre-bend", 0.0, 0.0, 0.3, 200.0, 197.0), Bend("release", 0.3, 0.4, 1.0, 0.0, 2.0))
    kinds = [
        m.kind for m in measure_bends(Note("n1", 0.0, 1.0, 60, bends=bends), tuning_offset_cents=0, tolerance_cents=10)
    ]
    assert kinds == ["pre-bend", "release"]


@pytest.mark.parametrize(("tolerance", "target"), [(0.0, None), (-1.0, None), (10.0, -5.0)])
def test_senseless_limits_are_refused(tolerance, target):
    with pytest.raises(NoteError, match="got"):
        measure_bends(bent(200.0), tuning_offset_cents=0.0, tolerance_cents=tolerance, target_cents=target)


@pytest.mark.parametrize(
    ("reached", "size"), [(30, 50), (70, 50), (80, 100), (149, 100), (151, 200), (204, 200), (288, 300), (430, 400)]
)
def test_usual_sizes(reached, size):
    assert nearest_size_cents(reached) == size


def test_vibrato_and_overshoot_do_not_move_the_held_pitch():
    t = np.arange(80) * HOP_S
    held = 200 + 25 * np.sin(2 * np.pi * 5 * t)
    held[:8] += 40  # overshoot
    held[-6:] -= 60  # the finger lets go
    assert abs(held_pitch_cents(held) - 200) < 3
    assert np.isnan(held_pitch_cents(np.zeros(0)))
