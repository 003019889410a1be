"""Harmonics made from recorded notes: only every nth partial rings on, under the guitar's own name and split."""

import numpy as np
import pytest

from transcribe.training.harmonic_zones import with_harmonics
from transcribe.training.note_bank import HELD_OUT, PALM_GUITAR, RATE_HZ, Zone, joined
from transcribe.training.rehearsal import guitars_of
from transcribe.training.sheet import write_sheet
from transcribe.training.strokes import FIELD, drawn_instrument
from transcribe.training.touches import STANDARD_OPEN, Passage, Touch


def string_note(midi):
    t = np.arange(2 * RATE_HZ) / RATE_HZ
    f = 440 * 2 ** ((midi - 69) / 12)
    tone = sum(np.sin(2 * np.pi * f * n * t) / n for n in range(1, 13))
    return np.round(9000 * tone / np.abs(tone).max() * np.exp(-2 * t)).astype(np.int16)


def bank_of(*guitars, pitches=(45.0, 62.9)):
    return joined([Zone(name, midi, 0.3, string_note(midi)) for name in guitars for midi in pitches])


def part(bank, name):
    return bank.start[bank.guitar == bank.guitars.index(name)], bank.midi[bank.guitar == bank.guitars.index(name)]


@pytest.mark.parametrize("partial", [2, 3, 4, 5])
def test_only_every_nth_partial_rings_on(partial):
    bank = with_harmonics(bank_of("shed"))
    starts, midi = part(bank, f"shed/{partial}")
    assert midi.tolist() == pytest.approx([45 + 12 * np.log2(partial), 62.9 + 12 * np.log2(partial)], abs=1e-3)
    sound = bank.samples[starts[0] + RATE_HZ // 5 : starts[0] + RATE_HZ].astype(float)
    t = np.arange(sound.size) / RATE_HZ
    shape = sound * np.hanning(sound.size)
    level_db = [20 * np.log10(abs((shape * np.exp(-2j * np.pi * 110 * n * t)).sum())) for n in range(1, 13)]
    kept = [level_db[n - 1] for n in range(1, 13) if n % partial == 0]
    gone = [level_db[n - 1] for n in range(1, 13) if n % partial]
    assert max(gone) < min(kept) - 25


def test_recorded_notes_stay_as_they_were():
    plain = bank_of("shed", "barn")
    bank = with_harmonics(plain)
    assert np.array_equal(bank.samples[: plain.samples.size], plain.samples)
    assert bank.playable == plain.playable == ("barn", "shed")


def test_harmonics_of_guitars_held_out_are_held_out():
    bank = with_harmonics(bank_of("shed", HELD_OUT[0]))
    kept = bank.zones((*guitars_of(bank, held_out=False), PALM_GUITAR))
    names = {bank.guitars[k] for k in kept.guitar}
    assert names == {"shed", "shed/2", "shed/3", "shed/4", "shed/5"}


def test_a_guitar_without_low_notes_gets_none():
    plain = bank_of("whistle", pitches=(80.0,))
    assert with_harmonics(plain) is plain


def test_a_touched_string_plays_the_harmonic_of_its_guitar():
    bank, rng = with_harmonics(bank_of("barn", "shed")), np.random.default_rng(0)
    played = Passage(STANDARD_OPEN, (Touch(4, 7, 0.1, 2.0, harmonic=3),), 4.4)
    stroke = write_sheet(played, drawn_instrument(rng, "shed"), bank, rng).strokes[4, 1]
    assert stroke[FIELD["zone_start"]] in part(bank, "shed/3")[0]
    assert stroke[FIELD["midi"]] == pytest.approx(STANDARD_OPEN[4] + 12 * np.log2(3), abs=0.01)
