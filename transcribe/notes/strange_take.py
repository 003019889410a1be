"""What is said, and left out, of a take that hardly sounds like one guitar."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from transcribe.audio.recording import Recording
from transcribe.notes.hear import Heard
from transcribe.notes.note import Doubt
from transcribe.notes.one_guitar import strangeness, strangest, take_grounds
from transcribe.settings import NoteSettings
from transcribe.units import CONCERT_A_HZ

TAKE = "take"  # what the doubt is about
UNLIKE = "this does not sound like one guitar"
WORDS = {
    "piano": "its overtones are stretched as a piano's are",
    "deep": "there is much sound below a guitar's lowest string",
    "restless_cents": "the pitch hardly comes to rest, as in talk or song",
    "off_cents": "its pitches fit no frets",
    "crowded": "more notes sound together than six strings can play",
    "explained": "much of the sound belongs to no note",
    "lone_bursts": "there are beats or consonants where no note begins",
    "covered": "much of it holds no note",
    "sure": "the notes heard are unsure",
    "high_db": "hiss or cymbals lie over it",
    "rise_s": "its notes swell, as bowed or blown ones do, or as a volume control makes them",
    "growth_db_per_s": "its held notes grow, as bowed or blown ones do, or as a volume control makes them",
}


def with_strange_told(
    recording: Recording, heard: Heard, settings: NoteSettings, *, reference_hz: float = CONCERT_A_HZ
) -> Heard:
    """Return what was heard as it is; of a take that hardly sounds like one guitar only the sure notes, and a doubt.

    Where only swelling notes speak against a guitar every note stays: a player's volume control makes them too.
    """
    tuning_cents = heard.tuning_offset_cents + 1200.0 * float(np.log2(reference_hz / CONCERT_A_HZ))
    grounds = take_grounds(recording, heard.notes, tuning_cents=tuning_cents)
    if strangeness(grounds) < 1.0:
        return heard
    plain = replace(grounds, rise_s=0.0, growth_db_per_s=0.0)
    least = settings.least_confidence_of_strange if strangeness(plain) >= 1.0 else 0.0
    kept = tuple(note for note in heard.notes if note.confidence is None or note.confidence >= least)
    names = {note.id for note in kept}
    kept = tuple(
        replace(note, slide=None) if note.slide is not None and note.slide.to not in (None, *names) else note
        for note in kept
    )
    doubts = [doubt for doubt in heard.doubts if doubt.note is None or doubt.note in names]
    said = Doubt(f"{UNLIKE}: {WORDS[strangest(grounds)]}", about=TAKE)
    return replace(heard, notes=kept, doubts=(said, *doubts))
