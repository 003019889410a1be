"""Learning the stretch of overdriven notes: what is learned from, the arithmetic, and the command as a whole."""

import numpy as np
import pytest

from tests.signals import hz, plucked, steady
from transcribe.evidence.driven_stretch import CENTS, LOGS, PARTIALS, read_driven_stretch, ways_of
from transcribe.training.learn_driven_stretch import VARIANTS, Job, arrays_of, examples_of, main, network, recorded_jobs
from transcribe.training.note_bank import joined, zone


def test_a_note_is_made_in_several_ways_and_alike_each_time():
    one, again = examples_of(Job(3)), examples_of(Job(3))
    assert 1 <= len(one) <= VARIANTS
    assert len({each.log_stretch for each in one}) == 1
    for here, there in zip(one, again, strict=True):
        assert np.array_equal(here.rows, there.rows)
        assert here[1:] == there[1:]


def test_a_recorded_note_brings_the_stretch_its_clean_sound_tells():
    notes = [
        zone("attic", midi, plucked(steady(hz(midi), 1.5), stretch=stretch).astype(np.float32))
        for midi, stretch in ((45, 9e-5), (57, 1.4e-4))
    ]
    jobs = list(recorded_jobs(joined(notes), 2))
    assert [job.guitar for job in jobs] == ["attic"] * 4
    for job in jobs:
        wanted = 9e-5 if job.midi == pytest.approx(45) else 1.4e-4
        assert job.log_stretch == pytest.approx(np.log(wanted), abs=0.1)
    assert all(each.log_stretch == jobs[0].log_stretch for each in examples_of(jobs[0]))


def test_what_is_computed_is_the_network_that_was_trained():
    model, rng = network(), np.random.default_rng(4)
    rows = rng.normal(0, 1, (6, PARTIALS, CENTS.size)).astype(np.float32)
    periods = rng.uniform(30, 300, 6).astype(np.float32)
    stretch, driven = model.predict([np.swapaxes(rows, 1, 2), np.log(periods)[:, None] / 4.0], verbose=0)
    weights = {name: value.astype(np.float32) for name, value in arrays_of(model).items()}
    weights["log_usual"] = np.zeros(LOGS.size, np.float32)
    for k in range(len(rows)):
        told, ways = read_driven_stretch(rows[k], float(periods[k]), weights=weights)
        assert told == pytest.approx(float(driven[k, 0]), abs=5e-3)
        likeliest = ways_of(stretch[k].astype(np.float64))[0]
        assert ways[0].log_stretch == pytest.approx(likeliest.log_stretch, abs=0.02)
        assert ways[0].share == pytest.approx(likeliest.share, abs=0.02)


def test_the_command_writes_weights_and_a_card(tmp_path, capsys):
    out = tmp_path / "small.npz"
    assert main(["--notes", "12", "--epochs", "2", "--workers", "1", "--out", str(out)]) == 0
    with np.load(out) as file:
        weights = {name: file[name].astype(np.float32) for name in file.files}
    some = examples_of(Job(5))
    for each in some:
        driven, ways = read_driven_stretch(each.rows.astype(np.float32), each.periods, weights=weights)
        assert 0 < driven < 1
        assert sum(way.share for way in ways) == pytest.approx(1.0)
    assert "string model, guitars drawn anew" in out.with_suffix(".md").read_text()
    assert "learned from" in capsys.readouterr().out


def test_a_file_that_is_no_bank_is_said_in_two_lines(tmp_path, capsys):
    (tmp_path / "bank.npz").write_text("no bank")
    assert main(["--bank", str(tmp_path / "bank.npz"), "--out", str(tmp_path / "out.npz")]) == 2
    assert "note_bank" in capsys.readouterr().err
    assert not (tmp_path / "out.npz").exists()


def test_a_folder_that_is_not_there_is_said_before_anything_is_made(tmp_path, capsys):
    assert main(["--notes", "4000", "--out", str(tmp_path / "nowhere" / "out.npz")]) == 2
    assert "Make it first" in capsys.readouterr().err
    assert main(["--notes", "0", "--out", str(tmp_path / "out.npz")]) == 2
    assert "--notes" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []
