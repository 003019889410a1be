"""The string model, measured with a spectrum: partials where stiff-string theory puts them."""

from dataclasses import replace

import numpy as np
import pytest

from transcribe.training.guitars import BRIGHT_ELECTRIC, GUITARS, STEEL_ACOUSTIC
from transcribe.training.lick import Lick, push, step
from transcribe.training.perform import perform
from transcribe.training.render import render
from transcribe.training.strings import ring_s

RATE_HZ = 44100
QUIET = replace(BRIGHT_ELECTRIC, second_plane=0.0, room_s=0.0, noise_db=-200.0, pick_noise_db=-200.0)


def played(*steps, guitar=QUIET, tempo_bpm=60.0, **lick):
    performance = perform(Lick("one", steps, tempo_bpm, **lick))
    return performance, render(performance, guitar, rate_hz=RATE_HZ, seed=1).astype(float)


def peak_hz(samples, near_hz, start_s, length_s=0.8):
    """Frequency of the strongest line within 2 % of ``near_hz``, between bins by a parabola on the log spectrum."""
    part = samples[int(start_s * RATE_HZ) : int((start_s + length_s) * RATE_HZ)]
    size = 1 << 20
    spectrum = np.log(np.abs(np.fft.rfft(part * np.hanning(part.size), size)) + 1e-12)
    low, high = int(0.98 * near_hz * size / RATE_HZ), int(1.02 * near_hz * size / RATE_HZ)
    k = low + int(np.argmax(spectrum[low:high]))
    a, b, c = spectrum[k - 1 : k + 2]
    return (k + 0.5 * (a - c) / (a - 2 * b + c)) * RATE_HZ / size


@pytest.mark.parametrize(("string", "fret", "finger"), [(3, 7, 3), (6, 3, 2), (1, 12, 3)])
def test_partials_are_stretched_by_the_string_and_the_fret(string, fret, finger):
    performance, samples = played(step("2", string, fret, finger))
    note = performance.notes[0]
    f_hz = 440 * 2 ** ((note.midi + note.cents / 100 - 69) / 12)
    stretch = QUIET.stretch[string - 1] * 2 ** (fret / 6)
    for n in (1, 2, 3, 6, 9):
        true_hz = n * f_hz * np.sqrt(1 + stretch * n * n)
        error_cents = 1200 * np.log2(peak_hz(samples, true_hz, note.onset_s + 0.5) / true_hz)
        assert abs(error_cents) < 0.7, f"partial {n}"  # the pluck's own fall in pitch has all but ended by then


def test_a_bend_sounds_where_it_stops_with_the_guitar_s_offset():
    performance, samples = played(step("2", 3, 7, 3, pushes=(push(200, miss_cents=-30),)), tuning_offset_cents=25.0)
    true_hz = 440 * 2 ** ((62 + 1.7 + 0.25 - 69) / 12)
    error_cents = 1200 * np.log2(peak_hz(samples, true_hz, performance.notes[0].onset_s + 0.6) / true_hz)
    assert abs(error_cents) < 1.0


def test_nothing_sounds_before_the_pick_and_little_after_the_damping():
    performance, samples = played(step("1", 3, 7, 3))
    note = performance.notes[0]
    loudest = np.abs(samples).max()
    assert np.abs(samples[: int((note.onset_s - 0.003) * RATE_HZ)]).max() < 0.001 * loudest
    start = np.abs(samples[int(note.onset_s * RATE_HZ) : int((note.onset_s + 0.01) * RATE_HZ)]).max()
    assert start > 0.3 * loudest
    assert np.abs(samples[int((note.offset_s + 0.1) * RATE_HZ) :]).max() < 0.02 * loudest


def level_db(samples, at_s, over_s=0.02):
    part = samples[int(at_s * RATE_HZ) : int((at_s + over_s) * RATE_HZ)]
    return 20 * np.log10(np.sqrt(np.mean(part**2)) + 1e-9)


@pytest.mark.parametrize(("mute", "fallen_db"), [("palm", 20.0), ("dead", 40.0)])
def test_muted_notes_are_short(mute, fallen_db):
    performance, samples = played(step("1", 6, 3, 2, mute=mute))
    onset_s = performance.notes[0].onset_s
    assert level_db(samples, onset_s + 0.005) - level_db(samples, onset_s + 0.17) > fallen_db
    _, open_samples = played(step("1", 6, 3, 2))
    assert level_db(open_samples, onset_s + 0.005) - level_db(open_samples, onset_s + 0.17) < 15
    assert ring_s(QUIET, performance.notes[0]) < 0.5


def brightness_at(samples, at_s):
    """Change in the sound above 3 kHz across one moment, in dB."""
    part = samples[int((at_s - 0.012) * RATE_HZ) : int((at_s + 0.012) * RATE_HZ)]
    spectra = [
        np.abs(np.fft.rfft(half * np.hanning(half.size))) for half in (part[: part.size // 2], part[part.size // 2 :])
    ]
    high = int(3000 * (part.size // 2) / RATE_HZ)
    return 10 * np.log10(np.sum(spectra[1][high:] ** 2) / np.sum(spectra[0][high:] ** 2))


def test_a_hammer_on_starts_softer_than_a_pick():
    performance, samples = played(step("1", 2, 5, 1), step("1", 2, 8, 4, attack="hammer-on"), guitar=BRIGHT_ELECTRIC)
    picked, picked_samples = played(step("1", 2, 5, 1), step("1", 2, 8, 4), guitar=BRIGHT_ELECTRIC)
    hammered = brightness_at(samples, performance.notes[1].onset_s)
    assert brightness_at(picked_samples, picked.notes[1].onset_s) > hammered + 6


def test_the_same_seed_gives_the_same_samples():
    assert np.array_equal(played(step("1", 3, 7, 3))[1], played(step("1", 3, 7, 3))[1])


@pytest.mark.parametrize("guitar", GUITARS.values(), ids=GUITARS)
def test_every_guitar_stays_below_full_scale_and_is_heard(guitar):
    _, samples = played(step("1/2", 5, 3, 3), step("1/2", 1, 8, 4), guitar=guitar)
    assert 0.6 < np.abs(samples).max() < 0.8


def test_the_acoustic_s_body_sounds_whatever_the_note():
    # G4 has nothing near 102 Hz; the box does
    _, acoustic = played(step("1", 1, 3, 3), guitar=STEEL_ACOUSTIC)
    _, electric = played(step("1", 1, 3, 3), guitar=BRIGHT_ELECTRIC)

    def near_air_mode(samples):
        spectrum = np.abs(np.fft.rfft(samples[int(0.4 * RATE_HZ) : int(0.6 * RATE_HZ)], RATE_HZ)) ** 2
        return np.sum(spectrum[90:115]) / np.sum(spectrum)

    assert near_air_mode(acoustic) > 3 * near_air_mode(electric)
