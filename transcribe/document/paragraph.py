"""A paragraph on what a lick does, in a teacher's words, from the facts of its document and nothing else."""

from __future__ import annotations

from collections.abc import Sequence

from fingering.solution import ordinal
from transcribe.document.model import TakeDocument, TakeNote
from transcribe.document.paragraph_harmony import harmony_sentences, shapes_worth_telling
from transcribe.document.paragraph_notes import ends_alone, note_sentences
from transcribe.document.words import listed, number, sentence
from transcribe.harmony.degrees import degree_words, key_degree
from transcribe.harmony.key import Key
from transcribe.harmony.shape_names import ANY_SHAPE, CHORD_SHAPE
from transcribe.settings import HarmonySettings

# Degrees -> what players call the set, fewest notes first (common practice); a line that uses all of one but no more.
SCALES: tuple[tuple[str, frozenset[str]], ...] = (
    ("minor pentatonic", frozenset({"1", "b3", "4", "5", "b7"})),
    ("major pentatonic", frozenset({"1", "2", "3", "5", "6"})),
    ("blues scale", frozenset({"1", "b3", "4", "b5", "5", "b7"})),
    ("major scale", frozenset({"1", "2", "3", "4", "5", "6", "7"})),
    ("natural minor scale", frozenset({"1", "2", "b3", "4", "5", "b6", "b7"})),
    ("dorian scale", frozenset({"1", "2", "b3", "4", "5", "6", "b7"})),
    ("mixolydian scale", frozenset({"1", "2", "3", "4", "5", "6", "b7"})),
    ("harmonic minor scale", frozenset({"1", "2", "b3", "4", "5", "b6", "7"})),
)
MISSING = 1  # notes of a scale of seven that a line may leave out and still be told to use it
MOST_OF_IT = 0.5


def paragraph(document: TakeDocument) -> str | None:
    """Return the paragraph; None for a document with no notes or no key."""
    if not document.notes or document.key is None:
        return None
    sentences = [
        _opening(document, document.key),
        _place(document),
        *harmony_sentences(document),
        *note_sentences(document.notes, document.key),
        _ending(document.notes),
    ]
    return " ".join(told for told in sentences if told)


def _opening(document: TakeDocument, key: Key) -> str:
    scale = _scale(document.notes, key)
    notes = f", on the notes of the {scale}" if scale else ""
    name = f"{key.tonic} {key.mode}"
    if key.source != "given":
        unsure = key.confidence is not None and key.confidence < HarmonySettings().sure_of_key
        other = f" (it may be {key.runner_up})" if unsure and key.runner_up else ""
        name = f"what sounds like {name}{other}"
    return f"{_length(document)} in {name}{notes}."


def _length(document: TakeDocument) -> str:
    """Return how long the lick is, in bars: "Two swung bars with a pickup"."""
    rhythm = document.rhythm
    bars = max((take.timing.bar for take in document.notes if take.timing is not None), default=0)
    if rhythm is None or not bars:
        return "A lick"
    swung = "swung " if rhythm.feel == "swing" else ""
    meter = "" if str(rhythm.meter) == "4/4" else f" of {rhythm.meter}"
    pickup = " with a pickup" if rhythm.pickup_beats else ""
    return sentence(f"{number(bars)} {swung}bar{'' if bars == 1 else 's'}{meter}{pickup}")


def _scale(notes: Sequence[TakeNote], key: Key) -> str | None:
    """Return the scale that holds every note of the line, when it uses enough of it to tell.

    A bend that is not let down counts where it arrives, and where it starts when that makes the scale plain.
    """
    used = {take.degree for take in notes if take.degree is not None}
    let_down = [take for take in notes if _released(take) and take.note.mute != "dead"]
    used |= {key_degree(take.note.midi, key) for take in let_down}
    pushed = {key_degree(take.note.midi, key) for take in notes if take.note.bends and take.note.mute != "dead"}
    return _scale_of(used, key) or _scale_of(used | pushed, key)


def _scale_of(used: set[str], key: Key) -> str | None:
    used = {"b5" if degree == "#4" and key.mode == "minor" else degree for degree in used}
    third = "b3" if key.mode == "minor" else "3"
    fitting = [(name, degrees) for name, degrees in SCALES if third in degrees and used <= degrees]
    whole = [name for name, degrees in fitting if degrees == used]
    nearly = [name for name, degrees in fitting if len(degrees) == 7 and len(degrees - used) <= MISSING]
    if whole:
        return whole[0]
    return nearly[0] if len(nearly) == 1 else None  # without its sixth a line may be dorian or natural minor


def _place(document: TakeDocument) -> str:
    shapes = shapes_worth_telling(document)
    names = list(dict.fromkeys(str(span) for span in shapes))
    if len(names) == 1:
        first, last = shapes[0].first_id, shapes[-1].last_id
        whole = len(shapes) == 1 and (first, last) == (document.notes[0].id, document.notes[-1].id)
        most = whole or _share_within(document, first, last) > MOST_OF_IT
        return f"{'It lies' if whole else 'Most of it lies' if most else 'Part of it lies'} in the {_shape(names[0])}."
    if len(names) > 1:
        return f"On the neck it goes through the {listed(_shape(name) for name in names[:4])}."
    positions = [take.position for take in document.notes if take.position]
    if not positions:
        return ""
    low, high = min(positions), max(positions)
    if low == high:
        return f"It stays in {ordinal(low)} position."
    return f"The hand moves between {ordinal(low)} and {ordinal(high)} position."


def _share_within(document: TakeDocument, first: str, last: str) -> float:
    """Return the share of the notes from one to another."""
    order = [take.id for take in document.notes]
    return (order.index(last) - order.index(first) + 1) / len(order) if {first, last} <= set(order) else 0.0


def _shape(name: str) -> str:
    shape, _, place = name.rpartition(", ")
    if CHORD_SHAPE.fullmatch(shape):
        shape += " chord"
    if place != "open":
        return f"{shape} at the {place}"
    return f"open {shape}" if ANY_SHAPE.match(shape) else f"{shape}, with open strings"


def _ending(notes: Sequence[TakeNote]) -> str:
    last = notes[-1]
    if last.degree is None or not ends_alone(notes):
        return ""
    shaken = ", with vibrato" if last.note.vibrato is not None else ""
    return f"It ends on the {degree_words(last.degree)}{shaken}."


def _released(take: TakeNote) -> bool:
    return any(bend.kind == "release" for bend in take.note.bends)
