"""Every fixture is whole: a reference for each take, a source for each file, licks a hand can play."""

import hashlib
import re
from pathlib import Path

import numpy as np
import pytest

from fixtures.licks import LICKS
from fixtures.render import GUITARS, RATE_HZ, guitars_of, seed_of
from tests.measures.playability import unplayable_places
from transcribe.audio.read import read_recording
from transcribe.document.read import read_document
from transcribe.training.perform import perform
from transcribe.training.render import render

FIXTURES = Path(__file__).parent.parent / "fixtures"
TAKES = sorted((FIXTURES / "takes").glob("*.flac"))
REFERENCES = [FIXTURES / "reference" / f"{take.stem}.take.json" for take in TAKES]
REAL = sorted((FIXTURES / "real").glob("*.flac"))


def test_each_lick_is_there_on_each_of_its_guitars_and_nothing_else_is():
    wanted = {f"{lick.name}.{guitar}" for lick in LICKS.values() for guitar in guitars_of(lick)}
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


def test_a_take_can_be_made_again():
    take = FIXTURES / "takes" / "tavern-step.bright-electric.flac"
    guitar = GUITARS["bright-electric"]
    performance = perform(LICKS["tavern-step"])
    stored = read_recording(take)
    fresh = render(performance, guitar, rate_hz=2 * RATE_HZ, seed=seed_of("tavern-step", guitar.name))
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
