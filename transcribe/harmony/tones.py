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
CHORD_TONE, SCALE_TONE = "chord tone", "scale tone"
Under = Callable[[Sounded], Chord | None]


def tones(line: Sequence[Sounded], under: Under, key: Key, *, stated: bool = True) -> dict[str, str]:
    """Return what every note does, by id.

    ``under`` tells the chord a note is heard against. With ``stated`` False that chord is only the key's own, taken
    for want of a better: notes of the scale that stand by themselves are then no tension.
    """
    after, before = following_notes(line), preceding_notes(line)
    enclosing = _enclosures(line, under)
    found: dict[str, str] = {}
    for note in line:
        if note.id in enclosing:
            found[note.id] = enclosing[note.id]
        else:
            found[note.id] = _tone(note, before.get(note.id), after.get(note.id), under, key, stated)
    return found


def home_chord(key: Key) -> Chord:
    """Return the triad on the tonic."""
    return Chord(key.tonic, "" if key.mode == "major" else "m")


def is_in(note: Sounded, chord: Chord | None) -> bool:
    """True for a tone of the chord."""
    return chord is not None and note.pitch % 12 in chord.pitch_classes


def into(note: Sounded, chord: Chord) -> str:
    """Return a chord tone in words, as the goal of a move: "the 3rd"."""
    return f"the {degree_words(chord_degree(note.pitch, chord)).removeprefix('minor ')}"


def _tone(note: Sounded, before: Sounded | None, after: Sounded | None, under: Under, key: Key, stated: bool) -> str:
    chord = under(note)
    if note.curled:
        return "blue note"
    if chord is None:
        return SCALE_TONE if in_scale(note.pitch, key) else "outside tone"
    if is_in(note, chord):
        return CHORD_TONE
    goal = under(after) if after is not None else None
    up = after.pitch - note.pitch if after is not None else 0
    came = note.pitch - before.pitch if before is not None else None
    lands = after is not None and goal is not None and is_in(after, goal)
    if after is not None and goal is not None and lands:
        if up == 0:
            return "anticipation"
        held = came == 0 and before is not None and is_in(before, under(before)) and note.weight >= ACCENT
        if held and abs(up) <= STEP:
            return f"suspension, {'up' if up > 0 else 'down'} to {into(after, goal)}"
        by_step = came is not None and 0 < abs(came) <= STEP
        if abs(up) == 1 and not (by_step and in_scale(note.pitch, key)):
            return f"half step into {into(after, goal)}"
        if stated and abs(up) <= STEP and note.weight >= ACCENT and note.length >= after.length:
            return f"tension, {'up' if up > 0 else 'down'} to {into(after, goal)}"
    if came is not None and after is not None and 0 < abs(came) <= STEP and 0 < abs(up) <= STEP:
        return "passing tone" if (came > 0) == (up > 0) else "neighbour tone"
    if after is not None and goal is not None and lands and abs(up) <= STEP:
        return f"tension, {'up' if up > 0 else 'down'} to {into(after, goal)}" if stated else SCALE_TONE
    if not in_scale(note.pitch, key):
        return "outside tone"
    return "tension" if stated else SCALE_TONE


def _enclosures(line: Sequence[Sounded], under: Under) -> Mapping[str, str]:
    """Return the notes of a single line that close in on a chord tone from above and below, by id."""
    found: dict[str, str] = {}
    for one, other, goal in zip(line, line[1:], line[2:], strict=False):
        chord = under(goal)
        if chord is None or not one.start < other.start < goal.start or one.id in found:
            continue
        gaps = (one.pitch - goal.pitch, other.pitch - goal.pitch)
        outside = not is_in(one, under(one)) and not is_in(other, under(other)) and is_in(goal, chord)
        if outside and gaps[0] * gaps[1] < 0 and max(map(abs, gaps)) <= STEP and not (one.curled or other.curled):
            found[one.id] = found[other.id] = f"enclosure of {into(goal, chord)}"
    return found


def in_scale(pitch: int, key: Key) -> bool:
    """True for a note of the key's scale; a minor key has both sevenths."""
    tonic = tonic_fifths(key)
    return pitch % 12 in {pitch_class(tonic + step) for step in scale_fifths(key)}
