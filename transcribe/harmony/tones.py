"""What each note does against the chord: chord tone, passing tone, half step into a chord tone, tension ...

Names as in M. Gotham et al., "Open Music Theory" (chapters on embellishing tones) and W. Piston, "Harmony" (1941),
chapter on non-harmonic tones; enclosures and half-step approaches as lead players use the words (common practice).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from transcribe.harmony.chord import Chord
from transcribe.harmony.degrees import chord_degree, degree_words, following_notes, preceding_notes
from transcribe.harmony.key import Key
from transcribe.harmony.names import pitch_class
from transcribe.harmony.roles import scale_fifths, tonic_fifths
from transcribe.harmony.sounding import Sounded

ACCENT = 0.7  # a place at least so strong is accented: on the beat
STEP = 2  # semitones of a step at most
CHORD_TONE, SCALE_TONE, BLUE_NOTE = "chord tone", "scale tone", "blue note"
Under = Callable[[Sounded], Chord | None]


def tones(line: Sequence[Sounded], told_under: Under, key: Key) -> dict[str, str]:
    """Return what every note does, by id.

    ``told_under`` tells the chord a note is heard against. Where it tells none, the key's own triad is taken for want
    of a better: a note of the scale that stands by itself is then no tension.
    """
    home = home_chord(key)

    def under(note: Sounded) -> Chord:
        return told_under(note) or home

    after, before = following_notes(line), preceding_notes(line)
    enclosing = _enclosures(line, under)
    found: dict[str, str] = {}
    for note in line:
        if note.id in enclosing:
            found[note.id] = enclosing[note.id]
        else:
            found[note.id] = _tone(
                note, before.get(note.id), after.get(note.id), under, key, told_under(note) is not None
            )
    return found


def home_chord(key: Key) -> Chord:
    """Return the triad on the tonic."""
    return Chord(key.tonic, "" if key.mode == "major" else "m")


def is_in(note: Sounded, chord: Chord) -> bool:
    """Return whether a note is a tone of the chord."""
    return note.pitch % 12 in chord.pitch_classes


def into(note: Sounded, chord: Chord) -> str:
    """Return a chord tone in words, as the goal of a move: "the 3rd"."""
    return f"the {degree_words(chord_degree(note.pitch, chord)).removeprefix('minor ')}"


def _tone(
    note: Sounded,
    before: Sounded | None,
    after: Sounded | None,
    under: Callable[[Sounded], Chord],
    key: Key,
    stated: bool,
) -> str:
    if note.curled:
        return BLUE_NOTE
    if is_in(note, under(note)):
        return CHORD_TONE
    moves = None
    if after is not None and is_in(after, under(after)):
        moves = _into_chord(note, before, after, under, key, stated)
    if moves is not None:
        return moves
    came = 0 if before is None else note.pitch - before.pitch
    goes = 0 if after is None else after.pitch - note.pitch
    if 0 < abs(came) <= STEP and 0 < abs(goes) <= STEP and (came > 0) == (goes > 0):
        return "passing tone"
    if 0 < abs(came) <= STEP and goes == -came:
        return "neighbour tone"
    if after is not None and stated and _resolves(note, after, under):
        return _tension(after, goes, under)
    if is_blue(note.pitch, key):
        return BLUE_NOTE
    if not in_scale(note.pitch, key):
        return "outside tone"
    return "tension" if stated else SCALE_TONE


def _into_chord(
    note: Sounded,
    before: Sounded | None,
    after: Sounded,
    under: Callable[[Sounded], Chord],
    key: Key,
    stated: bool,
) -> str | None:
    """Return what a note does that goes on to a chord tone in a way with a name of its own."""
    goes = after.pitch - note.pitch
    if goes == 0:
        return "anticipation"
    accented = note.weight >= ACCENT
    if before is not None and accented and abs(goes) <= STEP:
        if before.pitch == note.pitch and is_in(before, under(before)):
            return f"{'retardation, up' if goes > 0 else 'suspension, down'} to {into(after, under(after))}"
        if stated and note.length > max(before.length, after.length):  # it leans on the beat before it gives way
            return _tension(after, goes, under)
    if accented and in_scale(note.pitch, key) and stated and abs(goes) == 1 and not _comes_by_step(before, note):
        return _tension(after, goes, under)
    if abs(goes) == 1 and not (_comes_by_step(before, note) and in_scale(note.pitch, key)):
        return f"half step into {into(after, under(after))}"
    return None


def _resolves(note: Sounded, after: Sounded, under: Callable[[Sounded], Chord]) -> bool:
    """Return whether a note steps into a chord tone; a whole step up into another chord resolves nothing."""
    goes = after.pitch - note.pitch
    steps = 0 < abs(goes) <= STEP and is_in(after, under(after))
    return steps and (goes < STEP or under(after).root == under(note).root)


def _comes_by_step(before: Sounded | None, note: Sounded) -> bool:
    return before is not None and 0 < abs(note.pitch - before.pitch) <= STEP


def _tension(after: Sounded, goes: int, under: Callable[[Sounded], Chord]) -> str:
    return f"tension, {'up' if goes > 0 else 'down'} to {into(after, under(after))}"


def _enclosures(line: Sequence[Sounded], under: Callable[[Sounded], Chord]) -> Mapping[str, str]:
    """Return the notes of a single line that close in on a chord tone from above and below, by id."""
    found: dict[str, str] = {}
    for one, other, goal in zip(line, line[1:], line[2:], strict=False):
        chord = under(goal)
        if not one.start < other.start < goal.start or one.id in found:
            continue
        gaps = (one.pitch - goal.pitch, other.pitch - goal.pitch)
        outside = not is_in(one, under(one)) and not is_in(other, under(other)) and is_in(goal, chord)
        if outside and gaps[0] * gaps[1] < 0 and max(map(abs, gaps)) <= STEP and not (one.curled or other.curled):
            found[one.id] = found[other.id] = f"enclosure of {into(goal, chord)}"
    return found


def in_scale(pitch: int, key: Key) -> bool:
    """Return whether a note lies in the key's scale; a minor key has both sixths and both sevenths."""
    above = (pitch - pitch_class(tonic_fifths(key))) % 12
    return above in {pitch_class(step) for step in scale_fifths(key)} or (key.mode == "minor" and above == 9)


def is_blue(pitch: int, key: Key) -> bool:
    """Return whether a note is the lowered third, fifth or seventh of a major key, or the lowered fifth of a minor one.

    The blue notes (common practice).
    """
    above = (pitch - pitch_class(tonic_fifths(key))) % 12
    return above in ((3, 6, 10) if key.mode == "major" else (6,))
