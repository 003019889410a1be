"""What the rule of undertones would leave out: ``python -m tests.measures.undertones --bank DIR [--soundfont FILE]``.

Hears the licks on the guitars that numbers are chosen on, leaving nothing out, and prints of the notes heard under a
louder one at whose start nothing grows how far their odd partials lie under the even ones: of those that were played,
and of those that were not.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from tests.voice_material import bank_of, maps_of, takes
from transcribe.evaluate.matching import match_notes
from transcribe.notes.hear_voices import hear_voices
from transcribe.notes.undertone import ABOVE, LEAST_ODD_DB, odd_partials_db
from transcribe.settings import Settings
from transcribe.training.weighed_takes import keep_all
from transcribe.units import hz_from_midi


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.measures.undertones", description=__doc__.split("\n")[0])
    parser.add_argument("--bank", type=Path, action="append", default=[], metavar="DIR", help="recorded notes")
    parser.add_argument("--soundfont", type=Path, metavar="FILE", help="a General MIDI soundfont: more guitars")
    parser.add_argument("--cache", type=Path, metavar="DIR", help="keep sounds and maps here")
    parser.add_argument("--guitar", action="append", help="only these guitars; repeatable")
    chosen = parser.parse_args()
    bank = bank_of(tuple(chosen.bank), chosen.soundfont, cache=chosen.cache)
    guitars = tuple(chosen.guitar) if chosen.guitar else None
    settings = keep_all(Settings())  # the rule itself leaves nothing out then
    under, odd_db = 0, {True: [0.0], False: [0.0]}
    for take in takes("choosing", bank, guitars=guitars, cache=chosen.cache):
        heard = hear_voices(take.recording, maps_of(take, cache=chosen.cache), settings)
        notes = [note for note in heard.notes if note.mute != "dead"]
        right = {index for _, index in match_notes(take.notes, notes)}
        for index, note in enumerate(notes):
            grounds = heard.grounds[note.id]
            if grounds["above"] < ABOVE:
                continue
            under += 1
            if grounds["rise_db"] < 0.0:
                pitch_hz = float(hz_from_midi(note.midi + heard.tuning_offset_cents / 100))
                odd_db[index in right].append(odd_partials_db(take.recording, note.onset_s, pitch_hz))
    print(f"{under} notes heard under a louder one; the rule asks for {LEAST_ODD_DB:.0f} dB or less")
    for was_played, values in odd_db.items():
        words = "played" if was_played else "not played"
        print(
            f"{words}: {len(values) - 1} at whose start nothing grows, the lowest odd partials at {min(values):.1f} dB"
        )


if __name__ == "__main__":
    main()
