"""Learning of confidences: a tiny run, and what is written."""

import importlib.util

import numpy as np
import pytest

from transcribe.errors import ReadError
from transcribe.training import calibrate
from transcribe.training.fit_odds import Shape, doubt_threshold, fitted, reliability, told_by_others
from transcribe.training.weighed_takes import Row

SHAPES = {"salience": Shape((0.0, 0.5, 1.0), 1), "softer_db": Shape((0.0, 20.0), -1)}


def made(count, seed=0):
    """Rows whose log-odds are known: 8 salience - 4, less a tenth of each dB."""
    rng = np.random.default_rng(seed)
    rows = [{"salience": float(rng.random()), "softer_db": float(rng.uniform(0, 20))} for _ in range(count)]
    odds = [8 * row["salience"] - 2 - 0.1 * row["softer_db"] for row in rows]
    return rows, [bool(rng.random() < 1 / (1 + np.exp(-each))) for each in odds]


def test_curves_find_the_odds_that_made_the_notes():
    rows, right = made(6000)
    odds = fitted(rows, right, SHAPES)
    assert odds.base == pytest.approx(-2, abs=0.4)
    assert odds.curves["salience"].of(1.0) == pytest.approx(8, abs=0.8)
    assert odds.curves["softer_db"].of(20.0) == pytest.approx(-2, abs=0.4)
    fresh, truth = made(4000, seed=1)
    assert reliability([odds.of(row) for row in fresh], truth).error < 0.03


def test_a_curve_never_runs_against_its_direction():
    """Notes made the other way round: the curve stays flat instead of turning."""
    rows, right = made(500)
    odds = fitted(rows, [not each for each in right], SHAPES)
    assert odds.curves["salience"].of(1.0) == pytest.approx(0.0, abs=1e-6)
    assert odds.curves["softer_db"].of(20.0) == pytest.approx(0.0, abs=1e-6)


def test_reliability_is_zero_where_the_share_is_the_confidence():
    told = [0.25] * 4 + [0.75] * 4
    right = [True, False, False, False, True, True, True, False]
    assert reliability(told, right).error == pytest.approx(0.0)
    assert reliability([0.9] * 10, [True] * 5 + [False] * 5).error == pytest.approx(0.4)


def test_each_group_is_told_by_the_others():
    rows, right = made(300)
    told = told_by_others(rows, right, ["a", "b", "c"] * 100, SHAPES)
    assert told.shape == (300,)
    assert 0 < told.min() < told.max() < 1


def test_the_threshold_catches_four_in_five_unless_it_marks_too_much():
    apart = np.array([0.1, 0.2, 0.3, 0.4, 0.9] + [0.99] * 95)
    right = np.array([False] * 5 + [True] * 95)
    below = doubt_threshold(apart, right)
    assert (apart[:5] < below).mean() >= 0.8
    assert (apart[5:] < below).mean() <= 0.07
    mixed = np.linspace(0.2, 0.9, 200)
    truth = np.arange(200) % 2 == 0
    assert (mixed[truth] < doubt_threshold(mixed, truth)).mean() <= 0.08


def rows_of_both_paths():
    rng = np.random.default_rng(3)
    found = []
    for name, (path, _asked, shapes) in calibrate.LEARNED.items():
        for k in range(60):
            right = bool(rng.random() < 0.7)
            grounds = {each: float(rng.uniform(s.at[0], s.at[-1])) for each, s in shapes.items()}
            grounds |= {each: s.at[-1] if right else s.at[0] for each, s in shapes.items() if s.runs > 0}
            found.append((path, Row(f"{name}{k}", f"guitar{k % 3}", path, grounds, right, right and k % 5 > 0, False)))
    every = {path: set().union(*(row.grounds for p, row in found if p == path)) for path in ("line", "several")}
    for path, row in found:
        row.grounds.update({name: 0.5 for name in every[path] if name not in row.grounds})
    return [row for _, row in found]


def test_what_is_written_is_read_again(tmp_path):
    rows = rows_of_both_paths()
    out, card = tmp_path / "weights.py", tmp_path / "card.md"
    card.write_text("# Card\n\nText.\n", encoding="utf-8")
    for _ in range(2):  # a second run takes the place of the first
        calibrate.write_learned(rows, rows, out=out, card=card)
    spec = importlib.util.spec_from_file_location("weights", out)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    for name, (_, _, shapes) in calibrate.LEARNED.items():
        assert getattr(module, name).curves.keys() == shapes.keys()
    text = card.read_text(encoding="utf-8")
    assert text.startswith("# Card\n\nText.\n")
    assert text.count(calibrate.HEADING) == 1
    assert "expected calibration error" in text


def test_a_later_section_of_the_card_stays():
    card = f"# Card\n\n{calibrate.HEADING}\n\nold\n\n## Later\n\nstays\n"
    told = calibrate.with_section(card, f"{calibrate.HEADING}\n\nnew\n")
    assert "old" not in told
    assert "new" in told
    assert told.rstrip().endswith("## Later\n\nstays")


def test_too_few_notes_are_refused():
    with pytest.raises(ReadError, match="too few notes"):
        calibrate.learned(rows_of_both_paths()[:3])


def test_takes_with_their_truth_are_found(tmp_path, capsys):
    """A take of our own, as a person's corrected draft would lie there; a sound without truth is left alone."""
    from pathlib import Path

    fixtures = Path(__file__).parents[3] / "fixtures"
    name = "lamp-room.sampled-clean"
    (tmp_path / f"{name}.flac").write_bytes((fixtures / "takes" / f"{name}.flac").read_bytes())
    (tmp_path / f"{name}.take.json").write_bytes((fixtures / "reference" / f"{name}.take.json").read_bytes())
    (tmp_path / "nameless.flac").write_bytes((fixtures / "takes" / f"{name}.flac").read_bytes())
    rows = calibrate.gathered([tmp_path])
    assert {row.take for row in rows} == {name}
    assert {row.guitar for row in rows} == {"sampled-clean"}
    assert sum(row.right for row in rows) >= 10
