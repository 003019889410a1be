"""The whole path on shipped takes: a file goes in, and what was played comes out, placed where a hand can play it.

Scores are mir_eval's own (C. Raffel et al., "mir_eval: a transparent implementation of common MIR metrics", ISMIR
2014): notes pair within 50 ms and 50 cents, without their ends; melody as raw pitch accuracy within 50 cents. The
floors are what this version must hold, by guitar; the README quotes what was measured.
"""

from dataclasses import replace
from functools import cache
from pathlib import Path

import mir_eval
import numpy as np
import pytest

from fingering import Fretboard
from fixtures.licks import LICKS
from fixtures.render import GUITARS, HERE, RATE_HZ, write_flac
from tests.measures.playability import unplayable_places
from tests.media import write_media
from tests.musicxml_reader import read_musicxml
from transcribe.audio.read import read_recording
from transcribe.choices import TakeChoices
from transcribe.document.model import TakeDocument
from transcribe.document.read import document_from_json, read_document
from transcribe.document.text import take_to_json
from transcribe.evaluate.takes import score_takes
from transcribe.pipeline import draft_take
from transcribe.score.build import build_score
from transcribe.training.perform import perform
from transcribe.training.pitch import sounding
from transcribe.training.render import render
from transcribe.units import hz_from_midi
from transcribe.write.musicxml import musicxml_bytes

FIXTURES = Path(__file__).parents[2] / "fixtures"
TAKES = sorted((FIXTURES / "takes").glob("*.flac"))


def name(take: Path) -> str:
    return take.stem


def reference_of(take: Path) -> TakeDocument:
    return read_document(FIXTURES / "reference" / f"{take.stem}.take.json")


@cache
def draft_of(take: Path) -> TakeDocument:
    told, rhythm = reference_of(take).instrument, reference_of(take).rhythm
    board = Fretboard(told.open_strings_midi, told.frets, told.capo, told.scale_length_mm)
    return draft_take(take, TakeChoices(meter=rhythm.meter, fretboard=board))


def spans_and_pitches(document: TakeDocument) -> tuple[np.ndarray, np.ndarray]:
    notes = [take.note for take in document.notes if take.note.mute != "dead"]
    spans = np.array([[note.onset_s, note.offset_s] for note in notes])
    return spans, hz_from_midi([note.midi for note in notes])


@pytest.mark.parametrize("guitar", ["bright-electric", "sampled-clean", "sampled-driven", "steel-acoustic"])
def test_notes_of_each_guitar_are_found_in_time_and_in_pitch(guitar):
    takes = [take for take in TAKES if take.stem.endswith(guitar)]
    scores = []
    for take in takes:
        (wanted, wanted_hz), (found, found_hz) = (
            spans_and_pitches(reference_of(take)),
            spans_and_pitches(draft_of(take)),
        )
        scores.append(
            mir_eval.transcription.precision_recall_f1_overlap(
                wanted, wanted_hz, found, found_hz, onset_tolerance=0.05, pitch_tolerance=50.0, offset_ratio=None
            )[2]
        )
    assert np.mean(scores) >= 0.95


@pytest.mark.parametrize("guitar", ["bright-electric", "sampled-clean"])
def test_bends_and_slides_of_each_guitar_are_found(guitar):
    takes = [take for take in TAKES if take.stem.endswith(guitar)]
    scores = [score_takes(draft_of(take), reference_of(take)) for take in takes]
    for kind, floor in (("bends", 0.9), ("slides", 0.85)):
        found = [getattr(score, kind) for score in scores]
        assert 2 * sum(f.right for f in found) / sum(f.wanted + f.written for f in found) >= floor


@pytest.mark.parametrize("take", TAKES, ids=name)
def test_every_draft_can_be_played_kept_and_engraved(take):
    draft = draft_of(take)
    assert unplayable_places(draft) == []
    assert document_from_json(take_to_json(draft)).notes
    read_musicxml(musicxml_bytes(build_score(draft, title=take.stem)))


@pytest.mark.parametrize("lick", ["lamp-room", "short-of-the-pier", "slipway"])
def test_the_contour_follows_the_sounding_pitch(lick):
    """Truth: the pitch that the string model was driven with, guitar's tuning included, where a string sounds."""
    take = FIXTURES / "takes" / f"{lick}.bright-electric.flac"
    draft, played = draft_of(take), perform(LICKS[lick])
    times_s = np.arange(0.0, played.end_s, 0.01)
    truth_hz, heard_hz = np.zeros_like(times_s), np.zeros_like(times_s)
    for chain in played.chains:
        inside = (times_s >= chain.notes[0].onset_s + 0.02) & (times_s < chain.notes[-1].offset_s)
        midi, cents = sounding(chain, times_s[inside])
        truth_hz[inside] = hz_from_midi(midi + (cents + LICKS[lick].tuning_offset_cents) / 100)
    offset = draft.instrument.tuning_offset_cents
    for note in (take.note for take in draft.notes):
        moments = note.contour.start_s + note.contour.hop_s * np.arange(len(note.contour.cents))
        for moment, cents in zip(moments, note.contour.cents, strict=True):
            at = round(moment / 0.01)
            if cents is not None and at < heard_hz.size:
                heard_hz[at] = hz_from_midi(note.midi + (cents + offset) / 100)
    scores = mir_eval.melody.evaluate(times_s, truth_hz, times_s, heard_hz, cent_tolerance=50)
    assert scores["Raw Pitch Accuracy"] >= 0.9
    assert (
        mir_eval.melody.evaluate(times_s, truth_hz, times_s, heard_hz, cent_tolerance=10)["Raw Pitch Accuracy"] >= 0.85
    )


def test_a_take_one_fret_higher_is_drafted_one_fret_higher(tmp_path):
    """Away from the nut; what is played on open strings may move to others."""
    box = LICKS["lamp-room"]
    tabs = []
    for frets in (0, 1):
        steps = tuple(s if s.string is None else replace(s, fret=s.fret + frets) for s in box.steps)
        guitar = GUITARS["bright-electric"]
        samples = render(perform(replace(box, steps=steps, key=None)), guitar, rate_hz=RATE_HZ, seed=1)
        take = write_media(tmp_path / f"up-{frets}.wav", samples, RATE_HZ)
        tabs.append([(n.placement.string, n.placement.fret, n.placement.finger) for n in draft_take(take).notes])
    assert tabs[1] == [(string, fret + 1, finger) for string, fret, finger in tabs[0]]


@pytest.mark.parametrize("tempo_bpm", [None, 92.0])
def test_the_ticks_of_a_count_in_are_no_notes(tmp_path, tempo_bpm):
    """Four ticks at 92 a minute before the lick; the lick's first note falls on the next beat."""
    take = read_recording(HERE / "takes" / "lamp-room.bright-electric.flac")
    first_s = draft_take(HERE / "takes" / "lamp-room.bright-electric.flac").notes[0].note.onset_s
    beat_s, tick = 60.0 / 92.0, np.arange(int(0.03 * take.rate_hz)) / take.rate_hz
    tick = 0.4 * np.sin(2 * np.pi * 1600 * tick) * np.exp(-tick / 0.006)
    silence = np.zeros(int((0.3 + 4 * beat_s - first_s) * take.rate_hz))
    sound = np.concatenate([silence, take.samples]).astype(np.float32)
    for count in range(4):
        start = int((0.3 + count * beat_s) * take.rate_hz)
        sound[start : start + tick.size] += tick
    path = tmp_path / "counted.flac"
    write_flac(path, sound, take.rate_hz)
    document = draft_take(path, TakeChoices(tempo_bpm=tempo_bpm))
    assert len(document.notes) == 11
    assert document.rhythm.tempo_source == ("click" if tempo_bpm is None else "given")
    assert abs(document.rhythm.tempo_bpm - 92.0) < 1.0
    assert document.notes[0].timing.bar == 1
    assert document.notes[0].timing.beat == 0
