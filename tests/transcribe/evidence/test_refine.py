"""Fine pitch on tones, bends, glides and vibrato whose pitch is known by formula."""

import numpy as np
import pytest

from tests.signals import bend, glide, hz, in_noise, placed, plucked, recording, steady, tone, vibrato
from transcribe.evidence.refine import kept_inside, read_pitch, read_pitches, refine_pitch, runs
from transcribe.settings import EvidenceSettings

SETTINGS = EvidenceSettings()
RATE_HZ = 22050
HOP_S = 0.01


def rough(true_midi, seed=0):
    """What a network with bins of 20 cents might say: off by 10 cents here and there, then rounded."""
    return np.round((true_midi + 0.1 * np.random.default_rng(seed).standard_normal(true_midi.size)) * 5) / 5


def errors_cents(pitch_hz, *, stretch=5e-5, drive=0.0, snr_db=40.0):
    """How far each frame is read from the truth."""
    sound = plucked(pitch_hz, stretch=stretch)
    if drive:
        sound = np.tanh(drive * sound)  # an overdriven amplifier
    times = np.arange(0.02, pitch_hz.size / RATE_HZ - 0.01, HOP_S)
    true = 69 + 12 * np.log2(pitch_hz[(times * RATE_HZ).astype(int)] / 440)
    heard = refine_pitch(recording(in_noise(sound, snr_db)), times, rough(true), SETTINGS)
    return 100 * (heard - true)


def assert_read(errors):
    assert np.isfinite(errors).mean() > 0.98
    assert np.nanmedian(np.abs(errors)) < 2.0
    assert np.nanpercentile(np.abs(errors), 95) < 5.0


PITCHES = [hz(40), hz(47), hz(55), hz(64), hz(76), hz(83)]


@pytest.mark.parametrize("pitch_hz", PITCHES)
@pytest.mark.parametrize("stretch", [0.0, 3e-4])
def test_steady_tones(pitch_hz, stretch):
    assert_read(errors_cents(steady(pitch_hz, 1.0), stretch=stretch))


@pytest.mark.parametrize("pitch_hz", PITCHES)
@pytest.mark.parametrize(("cents", "stretch"), [(100, 1e-4), (200, 5e-5), (300, 1e-4)])
def test_bends_of_150_ms(pitch_hz, cents, stretch):
    moving = bend(pitch_hz, cents, 0.7, start_s=0.2, reach_s=0.35)
    errors = errors_cents(moving, stretch=stretch)
    assert_read(errors)
    assert_read(errors[18:33])  # the push itself


@pytest.mark.parametrize("pitch_hz", PITCHES)
def test_vibrato_of_40_cents_six_times_a_second(pitch_hz):
    assert_read(errors_cents(vibrato(pitch_hz, 40, 6, 1.0)))


@pytest.mark.parametrize("pitch_hz", PITCHES[:5])
def test_through_an_overdriven_amplifier(pitch_hz):
    assert_read(errors_cents(bend(pitch_hz, 200, 0.7, start_s=0.2, reach_s=0.35), drive=8.0))


def test_a_glide_over_an_octave():
    assert_read(errors_cents(glide(hz(45), hz(57), 1.0)))


def test_a_pure_tone_without_overtones():
    times = np.arange(0.05, 0.9, HOP_S)
    heard = refine_pitch(recording(tone(steady(hz(64), 1.0))), times, rough(np.full(times.size, 64.0)), SETTINGS)
    assert np.abs(heard - 64).max() * 100 < 1.5
    assert np.abs(np.median(heard) - 64) * 100 < 0.1


def test_fletchers_stretch_is_found():
    times = np.arange(0.05, 0.9, HOP_S)
    for stretch in (2e-5, 1e-4, 4e-4):
        sound = recording(in_noise(plucked(steady(hz(50), 1.0), stretch=stretch), 50))
        heard = read_pitch(sound, times, rough(np.full(times.size, 50.0)), SETTINGS)
        assert abs(np.median(heard.stretch) / stretch - 1) < 0.15


def test_unaccounted_stretch_would_be_heard():
    # Without stretch in the fit, the tenth partial of B = 0.0001 pulls by 8.6 cents: 1200 log2(sqrt(1 + B 100)).
    assert abs(1200 * np.log2(np.sqrt(1 + 1e-4 * 100)) - 8.6) < 0.05
    assert abs(np.nanmedian(errors_cents(steady(hz(40), 1.0), stretch=1e-4))) < 0.3


def test_noise_has_no_pitch():
    noise = recording(0.1 * np.random.default_rng(0).standard_normal(RATE_HZ))
    times = np.arange(0.05, 0.9, HOP_S)
    heard = read_pitch(noise, times, np.full(times.size, 57.0), SETTINGS)
    assert np.isnan(heard.midi).mean() > 0.9
    assert np.median(heard.harmonicity) < 0.2


def test_where_the_guess_is_missing_so_is_the_answer():
    times = np.arange(0.05, 0.9, HOP_S)
    guess = np.full(times.size, 57.0)
    guess[20:30] = np.nan
    heard = refine_pitch(recording(plucked(steady(220.0, 1.0))), times, guess, SETTINGS)
    assert np.array_equal(np.isnan(heard), np.isnan(guess))


def test_two_notes_in_a_row_keep_to_their_own_pitch():
    first, second = plucked(steady(hz(50), 0.5)), plucked(steady(hz(52), 0.5), phase_seed=1)
    sound = recording(placed((0.0, first), (0.5, second), seconds=1.0))
    times = np.arange(0.05, 0.95, HOP_S)
    true = np.where(times < 0.5, 50.0, 52.0)
    heard = refine_pitch(sound, times, true, SETTINGS, onsets_s=np.array([0.5]))
    assert np.nanpercentile(np.abs(heard - true), 95) * 100 < 5
    assert np.isfinite(heard).mean() > 0.95


def test_transposing_the_sound_transposes_the_reading():
    times = np.arange(0.05, 0.9, HOP_S)
    low, high = (
        refine_pitch(recording(plucked(steady(hz(midi, 17.0), 1.0))), times, np.full(times.size, midi), SETTINGS)
        for midi in (52.0, 59.0)
    )
    assert np.abs(high - low - 7.0).max() * 100 < 2
    assert abs(np.median(low) - 52.17) * 100 < 0.5


def test_a_take_that_begins_later_is_read_on_the_clock_of_the_file():
    sound = recording(plucked(glide(hz(50), hz(55), 1.0)))
    late = type(sound)(sound.samples, sound.rate_hz, start_s=3.0)
    times = np.arange(0.1, 0.9, HOP_S)
    guess = 50.0 + 5.0 * times
    early = refine_pitch(sound, times, guess, SETTINGS)
    assert np.nanmax(np.abs(refine_pitch(late, times + 3.0, guess, SETTINGS) - early)) * 100 < 0.5


def test_runs_end_at_gaps_and_onsets():
    times = np.arange(10) * HOP_S
    guess = np.full(10, 60.0)
    guess[3] = np.nan
    assert runs(times, guess, np.array([0.065])) == [slice(0, 3), slice(4, 7), slice(7, 10)]
    assert runs(times, np.full(10, np.nan), np.array([])) == []


def test_windows_are_moved_inside():
    centres = kept_inside(np.array([0.0, 0.05, 0.1]), np.full(3, 0.04), 0.0, 0.1)
    assert np.allclose(centres, [0.03, 0.05, 0.07])
    assert np.allclose(kept_inside(np.array([0.0, 0.02]), np.full(2, 0.04), 0.0, 0.02), 0.01)  # too short for one


@pytest.mark.parametrize(("in_the_way", "told"), [((2, 3, 5, 7), True), ((2, 3, 5, 7, 11), False)])
def test_one_partial_that_is_free_of_the_other_strings_tells_no_pitch(in_the_way, told):
    """Strings at these partials of A2 leave it the first and the eleventh, or the first alone."""
    pitch_hz = steady(hz(45), 1.0)
    times = np.arange(0.1, 0.4, HOP_S)
    others = np.tile(69 + 12 * np.log2(np.array(in_the_way) * hz(45) / 440), (times.size, 1))
    sound = recording(plucked(pitch_hz))
    heard = read_pitch(sound, times, np.full(times.size, 45.1), SETTINGS, others_midi=others).midi
    assert np.isfinite(heard).all() == told
    assert np.isfinite(heard).any() == told


def test_lines_read_together_are_read_as_each_alone():
    """Two notes one after the other, then a bend: the fit of one tells the others nothing."""
    pushed = bend(hz(60), 200.0, 0.8, start_s=0.2, reach_s=0.5)
    parts = [steady(hz(45), 0.6), steady(hz(69), 0.5), pushed]
    sound = recording(in_noise(np.concatenate([plucked(part) for part in parts]), 40.0))
    begins = np.cumsum([0, *(part.size for part in parts[:-1])]) / RATE_HZ
    lines = []
    for begin_s, part in zip(begins, parts, strict=True):
        times = np.arange(0.02, part.size / RATE_HZ - 0.01, HOP_S)
        true = 69 + 12 * np.log2(part[(times * RATE_HZ).astype(int)] / 440)
        lines.append((begin_s + times, rough(true), None))
    for line, told in zip(lines, read_pitches(sound, lines, SETTINGS), strict=True):
        alone = read_pitch(sound, line[0], line[1], SETTINGS)
        for name in ("midi", "stretch"):
            assert np.allclose(getattr(told, name), getattr(alone, name), rtol=1e-6, equal_nan=True), name
