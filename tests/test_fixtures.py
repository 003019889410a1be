"""Every fixture is whole: a reference for each take, a source for each file, licks a hand can play."""

import hashlib
import re
from pathlib import Path

import numpy as np
import pytest

from fixtures.licks import LICKS
from fixtures.licks.passage import perform_passage
from fixtures.licks.together import TOGETHER
from fixtures.render import GUITARS, RATE_HZ, seed_of, takes
from tests.measures.playability import unplayable_places
from transcribe.audio.read import read_recording
from transcribe.document.read import document_from_json, read_document
from transcribe.training.perform import perform
from transcribe.training.render import render
from transcribe.training.truth import take_document

FIXTURES = Path(__file__).parent.parent / "fixtures"
TAKES = sorted((FIXTURES / "takes").glob("*.flac"))
REFERENCES = [FIXTURES / "reference" / f"{take.stem}.take.json" for take in TAKES]
REAL = sorted((FIXTURES / "real").glob("*.flac"))


def test_each_lick_is_there_on_each_of_its_guitars_and_nothing_else_is():
    wanted = {f"{performance.lick.name}.{guitar}" for performance, guitar in takes()}
    assert {take.stem for take in TAKES} == wanted
    assert {path.name.removesuffix(".take.json") for path in (FIXTURES / "reference").iterdir()} == wanted


@pytest.mark.parametrize(
    ("take", "reference"),
    [*zip(TAKES, REFERENCES, strict=True), *((path, path.with_suffix(".take.json")) for path in REAL)],
    ids=lambda path: path.stem,
)
def test_a_reference_belongs_to_its_take_and_a_hand_can_play_it(take, reference):
    document = read_document(reference)
    assert document.source.file == take.name
    assert document.source.sha256 == hashlib.sha256(take.read_bytes()).hexdigest()
    assert all(note.note.offset_s <= document.source.duration_s for note in document.notes)
    if reference in REFERENCES:
        assert unplayable_places(document) == []


@pytest.mark.parametrize("lick", LICKS.values(), ids=LICKS)
def test_a_lick_fills_its_bars(lick):
    assert (lick.beats - lick.pickup_beats) % lick.meter.bar_beats == 0
    assert 4 <= perform(lick).end_s <= 10


@pytest.mark.parametrize("passage", TOGETHER.values(), ids=TOGETHER)
def test_the_strings_of_a_passage_fill_the_same_bars(passage):
    assert {part.beats for part in passage.parts} == {passage.parts[0].beats}
    assert passage.parts[0].beats % passage.parts[0].meter.bar_beats == 0
    assert 4 <= perform_passage(passage).end_s <= 10


@pytest.mark.parametrize("passage", TOGETHER.values(), ids=TOGETHER)
def test_a_hand_can_play_a_passage(passage):
    performance = perform_passage(passage)
    rings = {note.id: 60.0 for note in performance.notes}
    document = document_from_json(
        take_document(performance, file="", samples=22050, rate_hz=22050, ring_s=rings, made_with="")
    )
    assert unplayable_places(document) == []


@pytest.mark.parametrize("passage", TOGETHER.values(), ids=TOGETHER)
def test_a_passage_is_played_string_by_string(passage):
    performance = perform_passage(passage)
    assert sorted(note.id for chain in performance.chains for note in chain.notes) == sorted(
        note.id for note in performance.notes
    )
    onsets = [note.onset_s for note in performance.notes]
    assert onsets == sorted(onsets)
    for chain in performance.chains:
        assert len({note.step.string for note in chain.notes}) == 1
    sounding = [
        sum(other.onset_s <= note.onset_s + 0.05 < other.offset_s for other in performance.notes)
        for note in performance.notes
    ]
    assert max(sounding) >= 2, "strings sound together"


@pytest.mark.parametrize(
    "performance",
    [perform(LICKS["tavern-step"]), perform_passage(TOGETHER["twin-lanterns"])],
    ids=lambda performance: performance.lick.name,
)
def test_a_take_can_be_made_again(performance):
    guitar = GUITARS["bright-electric"]
    name = performance.lick.name
    take = FIXTURES / "takes" / f"{name}.{guitar.name}.flac"
    stored = read_recording(take)
    fresh = render(performance, guitar, rate_hz=2 * RATE_HZ, seed=seed_of(name, guitar.name))
    import soxr

    again = soxr.resample(fresh, 2 * RATE_HZ, RATE_HZ)
    assert stored.rate_hz == RATE_HZ
    assert stored.samples.size == again.size
    assert np.abs(stored.samples - again).max() < 1e-3


def test_sources_name_every_guitar_and_every_real_file():
    text = (FIXTURES / "SOURCES.md").read_text(encoding="utf-8")
    for name in {take.stem.partition(".")[2] for take in TAKES}:
        assert f"| `{name}` |" in text
    for path in REAL:
        assert re.search(rf"Files: \S*{path.name}\nCopyright: .+\nSource: .+\nLicense: CC0", text)
        assert f"`{path.name}`" in text


def test_fixtures_stay_small():
    assert sum(path.stat().st_size for path in FIXTURES.rglob("*") if path.is_file()) < 10e6
