"""The material of the benchmark of several voices: licks split once, sound and truth that belong together."""

import numpy as np
import pytest

from tests.bank_player import play_bank
from tests.benchmark_voices import compared
from tests.signals import hz, plucked, steady
from tests.voice_material import CONDITIONS, SPLIT, bank_of, guitars_of, maps_of, recorded, takes
from transcribe.notes.note import Note
from transcribe.training.lick import Lick, push, step
from transcribe.training.note_bank import HELD_OUT, RATE_HZ, Zone, joined
from transcribe.training.perform import perform


def test_no_lick_is_on_both_sides():
    for halves in SPLIT.values():
        assert not set(halves["choosing"]) & set(halves["judging"])
        assert abs(len(halves["choosing"]) - len(halves["judging"])) <= 1


def bank(*names):
    sound = np.round(20000 * plucked(steady(hz(60), 2.0), phase_seed=1)).astype(np.int16)
    return joined([Zone(name, 60.0, 0.2, sound) for name in names])


def test_guitars_nothing_was_trained_on_judge():
    both = bank("archtop", HELD_OUT[0])
    assert guitars_of("choosing", both) == ("archtop",)
    assert guitars_of("judging", both) == (HELD_OUT[0],)
    assert bank_of((), None) is None


def test_takes_are_the_same_each_time_and_kept(tmp_path):
    first, again, kept = (
        next(iter(takes("judging", None, styles=("oblique",), cache=cache))) for cache in (None, tmp_path, tmp_path)
    )
    assert np.array_equal(first.recording.samples, again.recording.samples)
    assert np.array_equal(again.recording.samples, kept.recording.samples)
    assert kept.notes == first.notes
    assert any(note.bends for note in kept.notes)
    maps = [maps_of(kept, cache=tmp_path) for _ in range(2)]
    assert np.array_equal(maps[0].contour, maps[1].contour)


def pitch_hz(sound, at_s):
    part = sound[int(at_s * RATE_HZ) :][:2048]
    size = np.abs(np.fft.rfft(part * np.hanning(part.size), 1 << 17))
    low, high = int(200 * (1 << 17) / RATE_HZ), int(420 * (1 << 17) / RATE_HZ)
    return (low + int(size[low:high].argmax())) * RATE_HZ / (1 << 17)


def test_a_recorded_note_follows_the_hand():
    lick = Lick("x", (step("4", 3, 5, 1, pushes=(push(200, at=0.3, over_s=0.1),)),), 120.0)  # 60, bent to 62
    performance = perform(lick)
    note = performance.notes[0]
    sound, fades = play_bank(performance, bank("archtop"), "archtop", seed=1)
    assert pitch_hz(sound, note.onset_s + 0.2) == pytest.approx(hz(60, note.cents), rel=0.002)
    assert pitch_hz(sound, note.onset_s + 1.2) == pytest.approx(hz(62), rel=0.002)
    started = int(np.argmax(np.abs(sound) > 0.1 * np.abs(sound).max())) / RATE_HZ
    assert started == pytest.approx(note.onset_s, abs=0.005)
    assert fades[note.id] > 0.5


def test_each_condition_does_what_it_says():
    t = np.arange(2 * RATE_HZ) / RATE_HZ
    dry = (0.3 * np.sin(2 * np.pi * 150 * t) + 0.3 * np.sin(2 * np.pi * 1000 * t)).astype(np.float32)
    clean, driven, phone = (recorded(dry, condition, seed=1) for condition in CONDITIONS)

    def level_db(sound, at_hz):
        size = np.abs(np.fft.rfft(sound[: 2 * RATE_HZ] * np.hanning(2 * RATE_HZ)))
        return 20 * np.log10(size[2 * at_hz - 4 : 2 * at_hz + 5].max())

    assert abs(level_db(clean, 150) - level_db(clean, 1000)) < 0.5
    assert level_db(phone, 150) < level_db(phone, 1000) - 20, "the speech band begins at 300 Hz"
    assert level_db(driven, 850) > level_db(clean, 850) + 30, "tones that only distortion makes"


def test_notes_pair_as_mir_eval_pairs_them():
    played = [Note("a", 1.0, 2.0, 60), Note("b", 1.5, 2.0, 64)]
    told = [Note("c", 1.04, 2.15, 60), Note("d", 1.6, 2.0, 64), Note("e", 1.0, 2.0, 61)]
    count = compared(played, told)
    assert (count.wanted, count.written, count.right, count.right_ends) == (2, 3, 1, 1)
    assert count.f() == pytest.approx(0.4)
    assert compared(played, []).f() == 0.0
