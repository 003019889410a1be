"""Files are known by what they hold, whatever they are called."""

from __future__ import annotations

import json
import struct
import zipfile
from io import BytesIO
from pathlib import Path

import pytest

from fingering.fretboard import Fretboard, tuning_from_text
from tests.midi_files import line, midi_file
from transcribe.choices import TakeChoices
from transcribe.errors import DocumentError, ReadError
from transcribe.harmony.key import Key
from transcribe.opening import kind_of_bytes, open_music

MIDI = midi_file(line((57, 60, 64)))
TAKE = {
    "format": "takesheet/take",
    "version": 1,
    "instrument": {"open_strings_midi": [64, 59, 55, 50, 45, 40]},
    "notes": [{"id": "n1", "onset_s": 0, "offset_s": 1, "midi": 60}],
}
MUSICXML = """<?xml version="1.0" encoding="{0}"?><score-partwise version="4.0"><part-list><score-part id="P1">
<part-name>Guitar</part-name></score-part></part-list><part id="P1"><measure number="1"><attributes>
<divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>
<note><pitch><step>A</step><octave>3</octave></pitch><duration>4</duration><type>whole</type></note>
</measure></part></score-partwise>"""


def compressed(text: str) -> bytes:
    """A MusicXML container (W3C MusicXML 4.0, compressed files)."""
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        rootfile = '<rootfile full-path="score.musicxml"/>'
        archive.writestr("META-INF/container.xml", f"<container><rootfiles>{rootfile}</rootfiles></container>")
        archive.writestr("score.musicxml", text)
    return stream.getvalue()


@pytest.mark.parametrize(
    ("data", "midis"),
    [
        (MIDI, [57, 60, 64]),
        (b"RIFF" + struct.pack("<I", len(MIDI) + 12) + b"RMIDdata" + struct.pack("<I", len(MIDI)) + MIDI, [57, 60, 64]),
        (json.dumps(TAKE).encode(), [60]),
        (b"\xef\xbb\xbf\n" + json.dumps(TAKE).encode(), None),
        (MUSICXML.format("UTF-8").encode(), [57]),
        (MUSICXML.format("UTF-16").encode("utf-16"), [57]),
        (compressed(MUSICXML.format("UTF-8")), [57]),
    ],
    ids=["midi", "midi-in-riff", "take", "take-with-mark", "musicxml", "musicxml-utf-16", "compressed"],
)
def test_music_is_opened_whatever_its_name(tmp_path: Path, data: bytes, midis: list[int] | None) -> None:
    path = tmp_path / "music.dat"
    path.write_bytes(data)
    assert [take.note.midi for take in open_music(path).notes] == (midis or [60])


def test_the_guitar_and_key_told_are_those_of_music_that_names_none(tmp_path: Path) -> None:
    path = tmp_path / "tune.mid"
    path.write_bytes(MIDI)
    choices = TakeChoices(fretboard=Fretboard(tuning_from_text("drop D"), frets=24), key=Key("A", "minor"))
    document = open_music(path, choices)
    assert document.instrument.open_strings_midi[-1] == 38
    assert document.instrument.frets == 24
    assert document.key.mode == "minor"


def test_what_the_notes_mean_is_told_where_the_file_does_not_say(tmp_path: Path) -> None:
    path = tmp_path / "tune.mid"
    path.write_bytes(MIDI)
    document = open_music(path)
    assert (document.key.tonic, document.key.mode, document.key.source) == ("A", "minor", "estimated")
    assert [take.degree for take in document.notes] == ["1", "b3", "5"]
    assert "A minor" in document.about


def test_the_backing_told_is_that_of_the_tune(tmp_path: Path) -> None:
    path = tmp_path / "tune.mid"
    path.write_bytes(MIDI)
    assert open_music(path, TakeChoices(vamp="F")).vamp == "F"
    barred = open_music(path, TakeChoices(chords=(("Am", "F"),)))
    assert [(span.symbol, float(span.start_beat)) for span in barred.chords if span.source == "given"] == [
        ("Am", 0.0),
        ("F", 2.0),
    ]


def test_a_take_document_is_opened_as_it_stands(tmp_path: Path) -> None:
    path = tmp_path / "lick.take.json"
    path.write_text(json.dumps(TAKE), encoding="utf-8")
    assert open_music(path).key is None


@pytest.mark.parametrize(
    ("data", "error", "found"),
    [
        (b"", ReadError, "is empty"),
        (b"a shopping list\n", ReadError, "text of another kind"),
        (b'{"colour": "green"}', DocumentError, '"format" is missing'),
        (b"<html><body>lick</body></html>", ReadError, "music.dat"),
        (MIDI[:30], ReadError, "cut short"),
        (bytes(range(256)) * 20, ReadError, "music.dat"),
    ],
)
def test_other_files_are_refused_in_two_lines_that_name_them(
    tmp_path: Path, data: bytes, error: type[ReadError], found: str
) -> None:
    path = tmp_path / "music.dat"
    path.write_bytes(data)
    with pytest.raises(error) as refused:
        open_music(path)
    assert found in refused.value.found
    assert "music.dat" in refused.value.found
    assert refused.value.mend
    assert "\n" not in refused.value.found


def test_missing_files_and_folders(tmp_path: Path) -> None:
    with pytest.raises(ReadError, match="no such file"):
        open_music(tmp_path / "nothing.mid")
    with pytest.raises(ReadError, match="is a folder"):
        open_music(tmp_path)


def test_sound_files_tell_nothing_by_themselves() -> None:
    """First bytes of RIFF WAVE, FLAC, Ogg and MP4 (their specifications)."""
    for head in (b"RIFF\x24\0\0\0WAVEfmt ", b"fLaC\0\0\0\x22", b"OggS\0\x02", b"\0\0\0\x20ftypisom"):
        assert kind_of_bytes(head) is None
