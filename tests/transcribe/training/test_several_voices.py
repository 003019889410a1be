"""Made playing, from passage to the small runtime's file: pitches and maps by formula, and a tiny training run."""

import os

os.environ.setdefault("KERAS_BACKEND", "tensorflow")
os.environ.setdefault("TF_CPP_MIN_LOG_LEVEL", "3")

from dataclasses import replace

import numpy as np
import pytest

from transcribe.errors import ReadError, SettingsError
from transcribe.evidence.harmonic_spectrum import CHANNELS, LOWEST_MIDI, PITCHES, harmonic_spectrum
from transcribe.evidence.network import CHUNK_FRAMES, load_network
from transcribe.training.note_bank import RATE_HZ, Zone, joined
from transcribe.training.rehearsal import Players, batch_of, hearing
from transcribe.training.sheet import write_sheet
from transcribe.training.strokes import FIELD, TICK, drawn_instrument, stroke_row
from transcribe.training.touches import STANDARD_OPEN, Passage, Touch

A4_ZONE = 69.0


def tone_bank():
    t = np.arange(4 * RATE_HZ) / RATE_HZ
    tone = np.round(20000 * np.sin(2 * np.pi * 440 * t)).astype(np.int16)
    hiss = (3000 * np.random.default_rng(0).standard_normal(2000)).astype(np.int16)
    return joined([Zone("tone", A4_ZONE, 0.4, tone), Zone("noises", 0.0, 0.1, hiss)])


def sheet_of(*touches, guitar=None, seed=0):
    rng = np.random.default_rng(seed)
    played = Passage(STANDARD_OPEN, touches, 4.4)
    return write_sheet(played, drawn_instrument(rng, guitar), tone_bank(), rng)


def heard(sheet, *, modal):
    from keras import ops

    from transcribe.training.scene_numbers import draw
    from transcribe.training.voicing import play

    made = draw(np.random.default_rng(1), STANDARD_OPEN) | {"second_gain": np.zeros((), np.float32)}
    scene = {name: ops.convert_to_tensor(value[None]) for name, value in made.items()}
    arrays = (sheet.index, sheet.strokes, sheet.bend)
    tensors = [ops.convert_to_tensor(array[None]) for array in arrays]
    bank = ops.convert_to_tensor(tone_bank().samples)
    return play(*tensors, scene, bank, modal_clips=int(modal))


def strongest_hz(sound, low, high):
    size = np.abs(np.fft.rfft(sound * np.hanning(sound.size), 1 << 19))
    hz = np.fft.rfftfreq(1 << 19, 1 / RATE_HZ)
    inside = (hz > low) & (hz < high)
    return hz[inside][np.argmax(size[inside])]


@pytest.mark.parametrize("modal", [True, False])
def test_a_string_sounds_at_its_fret(modal):
    sheet = sheet_of(Touch(0, 5, 0.2, 3.0), guitar=None if modal else "tone")
    sound = np.asarray(heard(sheet, modal=modal).sound)[0, 0]
    cents = 1200 * np.log2(strongest_hz(sound[RATE_HZ // 2 : 2 * RATE_HZ], 400, 480) / 440.0)
    assert abs(cents) < 2.0
    assert np.abs(sound[: int(0.19 * RATE_HZ)]).max() == 0.0


@pytest.mark.parametrize("modal", [True, False])
def test_a_bend_arrives_two_semitones_higher(modal):
    touch = Touch(0, 3, 0.1, 3.5, pushes=((0.4, 0.2, 2.0),))
    sound = np.asarray(heard(sheet_of(touch, guitar=None if modal else "tone"), modal=modal).sound)[0, 0]
    held = sound[int(1.2 * RATE_HZ) : int(2.4 * RATE_HZ)]
    assert abs(1200 * np.log2(strongest_hz(held, 400, 480) / 440.0)) < 4.0


def test_a_borrowed_note_stands_at_the_pitch_played():
    bank, rng = (
        joined([Zone("tone", midi, 0.4, tone_bank().samples) for midi in (60.0, 65.0)]),
        np.random.default_rng(0),
    )
    own = replace(drawn_instrument(rng, "tone"), borrowed=0.0)
    for instrument, recorded in ((own, 60.0), (replace(own, borrowed=5.0), 65.0)):
        row = stroke_row(Touch(1, 1, 0.2, 2.0), 60.0, instrument, bank, rng)
        assert (row[FIELD["midi"]], row[FIELD["zone_midi"]]) == (60.0, recorded)


def test_a_string_heard_at_two_places_keeps_its_pitch_and_shifts_its_partials():
    """A comb filter: what comes again after half a period doubles the even partials and takes the odd ones away."""
    from transcribe.training.voicing import heard_twice

    t = np.arange(RATE_HZ) / RATE_HZ
    string = sum(np.sin(2 * np.pi * 100 * n * t) for n in (1, 2, 3, 4))
    rows = np.stack([string, string, string])[None].astype(np.float32)  # two strings, then a row of noises
    half_period = np.full((1, 2), RATE_HZ / 200, np.float32)
    for gain, stronger in ((0.9, "even"), (-0.9, "odd")):
        mixed = np.asarray(heard_twice(rows, np.array([gain], np.float32), half_period))[0]
        odd, even = (np.mean([partial_db(mixed[0], 100 * n) for n in each]) for each in ((1, 3), (2, 4)))
        assert (even - odd if stronger == "even" else odd - even) == pytest.approx(20 * np.log10(1.9 / 0.1), abs=2.0)
        assert np.array_equal(mixed[2], rows[0, 2])


def test_a_stopped_string_is_silent_and_no_longer_held():
    found = heard(sheet_of(Touch(1, 3, 0.1, 1.0, damping_s=0.05)), modal=True)
    sound, held = np.asarray(found.sound)[0, 1], np.asarray(found.held)[0, 1]
    assert np.abs(sound[int(1.1 * RATE_HZ) :]).max() < 1e-2 * np.abs(sound).max()
    assert held[int(0.5 * RATE_HZ / TICK)] == 1.0
    assert held[int(1.05 * RATE_HZ / TICK)] == 0.0


def test_a_slide_passes_every_fret():
    sheet = sheet_of(Touch(2, 5, 0.1, 0.6), Touch(2, 9, 0.6, 1.5, attack="slid", glide_s=0.2))
    pitches = (
        sheet.strokes[2, 1, FIELD["midi"]] + sheet.bend[2, int(0.2 * RATE_HZ / TICK) : int(0.7 * RATE_HZ / TICK), 0]
    )
    assert sorted({round(float(p), 3) for p in pitches}) == [60, 61, 62, 63, 64]


def test_a_slide_that_is_picked_again_passes_every_fret_on_the_string_that_sounded():
    sheet = sheet_of(Touch(2, 5, 0.1, 0.59), Touch(2, 9, 0.6, 1.5, glide_s=0.2))
    before, after = (int(0.6 * RATE_HZ / TICK) + k for k in (0, 2))
    passed = sheet.strokes[2, 1, FIELD["midi"]] + sheet.bend[2, int(0.2 * RATE_HZ / TICK) : before + 1, 0]
    assert sorted({round(float(p), 3) for p in passed}) == [60, 61, 62, 63, 64]
    assert sheet.index[2, before] == 1
    assert (sheet.index[2, after], sheet.strokes[2, 2, FIELD["midi"]], sheet.bend[2, after, 0]) == (2, 64, 0)
    assert [event[2] for event in sheet.events[:2]] == [0, 0], "both are picked"


def test_a_hand_that_slides_away_passes_frets_downward_and_begins_no_note():
    sheet = sheet_of(Touch(2, 9, 0.1, 1.0, fall=(4, 0.2)))
    pitches = sheet.strokes[2, 1, FIELD["midi"]] + sheet.bend[2, : int(1.1 * RATE_HZ / TICK), 0]
    held = pitches[int(0.15 * RATE_HZ / TICK) : int(0.79 * RATE_HZ / TICK)]
    assert np.allclose(held, 64)
    assert np.all(np.diff(pitches[int(0.15 * RATE_HZ / TICK) :]) <= 0)
    assert pitches[-1] == pytest.approx(60)
    assert (sheet.events[:, 0] >= 0).sum() == 1


def test_events_are_at_the_sounding_pitch():
    before = sheet_of(Touch(1, 8, 0.3, 1.5, pushes=((0.3, 0.0, 2.0), (0.8, 0.2, 0.0))))
    assert before.events[0][1] == pytest.approx(STANDARD_OPEN[1] + 10, abs=0.3)
    node = sheet_of(Touch(1, 7, 0.3, 1.5, harmonic=3))
    assert node.events[0][1] == pytest.approx(STANDARD_OPEN[1] + 12 * np.log2(3), abs=0.01)


@pytest.mark.parametrize("modal", [True, False])
def test_a_harmonic_is_held_at_the_pitch_that_sounds(modal):
    sheet = sheet_of(Touch(1, 7, 0.3, 3.0, harmonic=3), guitar=None if modal else "tone")
    found = heard(sheet, modal=modal)
    sound, midi = np.asarray(found.sound)[0, 1], np.asarray(found.midi)[0, 1, RATE_HZ // TICK]
    sounding = 69 + 12 * np.log2(strongest_hz(sound[RATE_HZ // 2 : 2 * RATE_HZ], 60, 2000) / 440)
    assert midi == pytest.approx(STANDARD_OPEN[1] + 12 * np.log2(3), abs=0.01), "an octave and a fifth over the string"
    assert sounding == pytest.approx(midi, abs=0.05)


def test_maps_tell_the_note_where_it_sounds():
    from keras import ops

    from transcribe.training.truth_maps import HELD, LEGATO, PICKED, STRING, truth_maps

    sheet = sheet_of(Touch(0, 5, 0.5, 2.0))
    events = ops.convert_to_tensor(sheet.events[None])
    maps = np.asarray(truth_maps(heard(sheet, modal=True), events, ops.convert_to_tensor(np.ones(1, np.float32))))[0]
    frame = round(0.5 * RATE_HZ / 256)
    assert np.unravel_index(maps[..., PICKED].argmax(), maps[..., PICKED].shape)[:2] == (frame, 69 - LOWEST_MIDI)
    assert maps[..., LEGATO].max() == 0
    assert maps[frame + 30, 69 - LOWEST_MIDI, HELD] == 1
    assert maps[frame + 30, 69 - LOWEST_MIDI, STRING].tolist() == [1, 0, 0, 0, 0, 0]
    assert maps[frame - 5, :, HELD].max() == 0


def overdriven(tone, **numbers):
    """A tone through an amplifier that changes nothing but what ``numbers`` say, shape as given."""
    from keras import ops

    from transcribe.training.scene import driven, spectrum
    from transcribe.training.scene_numbers import draw

    made = draw(np.random.default_rng(1), STANDARD_OPEN)
    flat = {"drive": 20.0, "hard": 0.0, "lean": 0.0, "tight_hz": 0.0, "cabinet_hz": 20000.0}
    made |= {"amplifier_db": np.zeros_like(made["amplifier_db"])}
    made |= {name: np.asarray(value, np.float32) for name, value in (flat | numbers).items()}
    scene = {name: ops.convert_to_tensor(value[None]) for name, value in made.items()}
    return np.asarray(driven(*spectrum(ops.convert_to_tensor(tone[None].astype(np.float32))), scene))[0]


def sine(hz, seconds=2.0):
    from transcribe.training.sheet import CLIP_SAMPLES

    t = np.arange(CLIP_SAMPLES) / RATE_HZ
    return np.where(t < seconds, np.sin(2 * np.pi * hz * t), 0.0)


def partial_db(sound, hz):
    """Level of one partial in the second after the first tenth."""
    part = sound[RATE_HZ // 10 : RATE_HZ // 10 + RATE_HZ]
    turn = np.exp(-2j * np.pi * hz * np.arange(part.size) / RATE_HZ)
    return 20 * np.log10(np.abs(part @ (turn * np.hanning(part.size))) + 1e-9)


def moved(tone, **numbers):
    """A tone through the effects that sway, shape as given."""
    from transcribe.training.scene import moving

    still = {"chorus_gain": 0.0, "chorus_s": 0.01, "chorus_hz": 1.0, "tremolo": 0.0, "tremolo_hz": 5.0}
    scene = {name: np.array([value], np.float32) for name, value in (still | numbers).items()}
    return np.asarray(moving(tone[None].astype(np.float32), scene))[0]


def test_a_tremolo_sways_the_level_and_nothing_else():
    tone = sine(440, seconds=9.0)
    assert np.abs(moved(tone) - tone).max() < 1e-5
    swayed = moved(tone, tremolo=0.8, tremolo_hz=4.0)
    t = np.arange(tone.size) / RATE_HZ
    assert np.abs(swayed - tone * (0.6 + 0.4 * np.cos(2 * np.pi * 4 * t))).max() < 1e-4


def test_a_chorus_is_a_copy_that_comes_late_by_a_swaying_time():
    tone = sine(440, seconds=9.0)
    both = 2 * moved(tone, chorus_gain=1.0, chorus_s=0.01, chorus_hz=1.0) - tone
    t = np.arange(tone.size) / RATE_HZ
    wanted = np.sin(2 * np.pi * 440 * (t - 0.01 * (1 + 0.3 * np.sin(2 * np.pi * t))))
    assert np.abs(both - wanted)[RATE_HZ // 10 :].max() < 0.01


@pytest.mark.parametrize("hard", [0.0, 1.0])
def test_a_distortion_leaves_silence_silent_and_flattens_what_is_loud(hard):
    tone = sine(110)
    sound = overdriven(tone * np.exp(-np.arange(tone.size) / RATE_HZ), hard=hard, lean=0.2)
    assert np.abs(sound[int(2.2 * RATE_HZ) :]).max() < 0.02
    early, late = (np.abs(sound[int(at * RATE_HZ) :][: RATE_HZ // 5]).max() for at in (0.2, 1.5))
    assert late > 0.8 * early, "what died by 11 dB sounds on almost as loud"


def test_a_clip_that_leans_makes_even_partials():
    even, leaning = (overdriven(sine(110), drive=3.0, lean=lean) for lean in (0.0, 0.8))
    assert partial_db(even, 220) < partial_db(even, 110) - 40, "symmetric: odd partials alone"
    assert partial_db(leaning, 220) > partial_db(leaning, 110) - 15


def test_the_tone_stack_lifts_what_the_distortion_made():
    lift = {"amplifier_hz": [330.0] * 3, "amplifier_db": [9.0, 0.0, 0.0], "amplifier_octaves": [0.3] * 3}
    plain, lifted = overdriven(sine(110)), overdriven(sine(110), **lift)
    assert partial_db(lifted, 330) - partial_db(plain, 330) == pytest.approx(9.0, abs=0.2)
    assert partial_db(lifted, 110) - partial_db(plain, 110) == pytest.approx(0.0, abs=0.2)


def test_the_training_view_is_the_one_at_run_time():
    players = Players(tone_bank(), ("tone",))
    batch = batch_of(players, 5, 0, clips=2, modal_clips=1)
    view, _, sound = hearing(tone_bank().samples, modal_clips=1, with_sound=True)(batch)
    for k in range(2):
        at_run_time = harmonic_spectrum(np.asarray(sound)[k])[:-1]
        assert at_run_time.shape == (384, PITCHES, CHANNELS)
        # the last frames differ: training's clip ends there
        assert np.abs(np.asarray(view)[k] - at_run_time)[:-9].max() < 0.02


def test_a_tiny_run_learns_resumes_and_ships(tmp_path):
    from transcribe.training.checkpoint import averaged, load
    from transcribe.training.export import exported
    from transcribe.training.train import compiled_network, train

    shape = {"width": 8, "dilations": (1, 2, 1)}
    run = {"minutes": 5.0, "clips": 2, "highest": 0.02, **shape}
    first = train(tone_bank(), tmp_path, most_steps=5, **run)
    second = train(tone_bank(), tmp_path, most_steps=5, seed=2, **run)
    assert second[-1] < first[-1], "the loss falls over the two runs"
    model = compiled_network(**shape)
    assert load(tmp_path / "checkpoint.npz", model) == 10
    averaged(tmp_path / "checkpoint.npz", model)
    view = np.random.default_rng(0).random((CHUNK_FRAMES, PITCHES, CHANNELS)).astype(np.float32)
    wanted = np.asarray(model(view[None], training=False))[0]
    got = load_network(exported(tmp_path / "checkpoint.npz", **shape), threads=1)(view)
    assert np.abs(got - wanted).max() < 0.02 * np.abs(wanted).max()
    with pytest.raises(ReadError, match="no checkpoint of this network"):
        load(tmp_path / "checkpoint.npz", compiled_network(width=16, dilations=(1, 1)))


@pytest.mark.parametrize("dilations", [(1,), (1, 3, 1), (1, 1, 1)])
def test_blocks_that_cannot_hear_every_second_frame_are_told(dilations):
    from transcribe.training.network import build_network

    with pytest.raises(SettingsError, match="every second frame"):
        build_network(width=8, dilations=dilations)


def test_samples_to_listen_to_come_with_their_notes(tmp_path):
    from transcribe.training.sample import write_samples

    made = write_samples(tone_bank(), tmp_path, clips=2, seed=4, style="line")
    assert [path.name for path in made] == ["clip1.wav", "clip2.wav"]
    rows = made[0].with_suffix(".notes.tsv").read_text().splitlines()
    assert rows[0].split("\t") == ["onset_s", "midi", "attack", "string"]
    assert len(rows) > 1
    assert made[0].stat().st_size == 44 + 2 * 98304


def test_a_card_tells_data_split_and_figures(tmp_path):
    import json

    from transcribe.training.card import main

    row = {"onset F": 0.91, "precision": 0.92, "recall": 0.9, "attacks": 0.95, "partials": 1.5, "notes": 10.0}
    (tmp_path / "new.json").write_text(json.dumps({"steel, line": row}))
    (tmp_path / "old.json").write_text(json.dumps({"steel, line": row | {"onset F": 0.88}}))
    (tmp_path / "w.tflite").write_bytes(b"123")
    files = ["--weights", "w.tflite", "--figures", "new.json", "--shipped", "old.json", "--out", "card.md"]
    words = [str(tmp_path / word) if k % 2 else word for k, word in enumerate(files)]
    assert main([*words, "--run", "Two clips, seed 1."]) == 0
    card = (tmp_path / "card.md").read_text()
    assert "| steel, line | 0.910 | 0.920 | 0.900 | 0.950 | 1.5 | 0.880 |" in card
    assert "solidbody, steel" in card
    assert "Two clips, seed 1." in card
    (tmp_path / "new.json").write_text("[1]")
    assert main(words) == 2


def test_tallies_add_up():
    from transcribe.training.evaluate import Tally

    both = Tally(3, 4, 3, 2, 1) + Tally(1, 1, 3, 1, 2)
    assert both == Tally(4, 5, 6, 3, 3)
    assert both.f == pytest.approx(8 / 11)
    assert Tally().f == 1.0
