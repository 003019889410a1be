"""Natural harmonics among fretted notes of like pitch, with exact truth.

A finger that touches a string over a node leaves every nth partial (N. Fletcher and T. Rossing, "The Physics of
Musical Instruments", 2nd ed., chapter 2). Open strings are played on a recorded guitar or the string model, and each is
added to copies of itself that are 1/n, 2/n ... of its period late: all other partials cancel. The first moments, before
the last copy has come, still hold them, as the first moments under a real finger do.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fixtures.render import seed_of
from tests.bank_player import play_bank
from tests.voice_material import CONDITIONS, Condition, Part, Take, guitars_of, recorded
from transcribe.audio.recording import Recording
from transcribe.document.model import TakeNote
from transcribe.document.read import document_from_json
from transcribe.training.guitars import GUITARS
from transcribe.training.harmonic_zones import touched
from transcribe.training.lick import Lick, step
from transcribe.training.note_bank import RATE_HZ, Bank
from transcribe.training.perform import Performance, perform
from transcribe.training.render import render
from transcribe.training.strings import ring_s
from transcribe.training.truth import take_document
from transcribe.units import hz_from_midi

RISES = {12: 12, 7: 19, 5: 24, 4: 28}  # touched fret -> semitones above the open string, partials 2 to 5
PARTIAL = {12: 2, 7: 3, 5: 4, 4: 5}
# (string, fret, harmonic): nodes and fretted notes, each in its own bell or step
BELLS: dict[Part, tuple[tuple[int, int, bool], ...]] = {
    "choosing": (
        *((6, 12, True), (4, 2, False), (5, 12, True), (3, 2, False), (4, 7, True), (1, 5, False), (3, 7, True)),
        *((1, 10, False), (2, 12, True), (1, 7, False), (3, 12, True), (2, 8, False), (5, 5, True), (1, 12, False)),
        *((4, 5, True), (6, 7, True), (2, 3, False), (1, 12, True), (1, 15, False)),
    ),
    "judging": (
        *((4, 12, True), (3, 7, False), (3, 12, True), (2, 5, False), (6, 7, True), (2, 0, False), (5, 7, True)),
        *((1, 0, False), (2, 7, True), (1, 14, False), (1, 12, True), (2, 17, False), (6, 5, True), (1, 0, False)),
        *((3, 5, True), (5, 12, True), (4, 7, False), (2, 12, True), (1, 7, False), (1, 3, False)),
    ),
}
NAMES = {"choosing": "harbour-bells", "judging": "buoy-bells"}


def harmonic_takes(
    part: Part,
    bank: Bank | None,
    *,
    guitars: tuple[str, ...] | None = None,
    conditions: tuple[Condition, ...] = CONDITIONS,
) -> Iterator[Take]:
    """Yield the bells of a part on every guitar in every condition."""
    bells = BELLS[part]
    lick = Lick(
        name=NAMES[part],
        tempo_bpm=100.0,
        steps=tuple(
            step("1", string, 0 if touched else fret, 0 if touched or fret == 0 else 1, held=0.85)
            for string, fret, touched in bells
        ),
        seed=seed_of(NAMES[part]),
    )
    performance = perform(lick)
    for guitar in guitars_of(part, bank) if guitars is None else guitars:
        sound, fades = _sound(performance, guitar, bank)
        for k, (_, fret, is_touched) in enumerate(bells):
            if is_touched:
                _touch(sound, performance, k, PARTIAL[fret])
        written = document_from_json(
            take_document(
                performance,
                file=f"{lick.name}.{guitar}.wav",
                samples=sound.size,
                rate_hz=RATE_HZ,
                ring_s=fades,
                made_with=guitar,
            )
        )
        reference = replace(
            written,
            notes=tuple(
                _as_harmonic(take, fret) if touched else take
                for take, (_, fret, touched) in zip(written.notes, bells, strict=True)
            ),
        )
        for condition in conditions:
            name = f"{lick.name}.{guitar}.{condition}"
            heard = recorded(sound, condition, seed=seed_of(name))
            yield Take(name, "single", guitar, condition, Recording(heard, RATE_HZ), reference)


def _touch(sound: NDArray[np.float32], performance: Performance, k: int, partial: int) -> None:
    """Turn the kth note, an open string alone, into its harmonic; as loud as it was."""
    note = performance.notes[k]
    after = performance.notes[k + 1].onset_s if k + 1 < len(performance.notes) else performance.end_s
    span = slice(round((note.onset_s - 0.005) * RATE_HZ), round((after - 0.005) * RATE_HZ))
    open_hz = float(hz_from_midi(note.midi + performance.lick.tuning_offset_cents / 100))
    made = touched(sound[span], open_hz, partial, RATE_HZ)
    sound[span] = made * (0.7 * np.abs(sound[span]).max() / np.abs(made).max())


def _sound(performance: Performance, guitar: str, bank: Bank | None) -> tuple[NDArray[np.float32], dict[str, float]]:
    if guitar in GUITARS:
        import soxr

        fine = render(performance, GUITARS[guitar], rate_hz=2 * RATE_HZ, seed=seed_of(performance.lick.name, guitar))
        sound = np.asarray(soxr.resample(fine, 2 * RATE_HZ, RATE_HZ), dtype=np.float32)
        return sound, {note.id: ring_s(GUITARS[guitar], note) for note in performance.notes}
    if bank is None:
        raise ValueError(f"{guitar} needs a bank")
    return play_bank(performance, bank, guitar, seed=seed_of(performance.lick.name, guitar))


def _as_harmonic(take: TakeNote, fret: int) -> TakeNote:
    note = replace(take.note, midi=take.note.midi + RISES[fret], harmonic="natural")
    placement = None if take.placement is None else replace(take.placement, fret=fret)
    return replace(take, note=note, placement=placement)
