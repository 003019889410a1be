"""A paragraph on what a lick does, in a teacher's words, from the facts of its document and nothing else."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from fingering.solution import ordinal
from transcribe.document.model import TakeDocument, TakeNote
from transcribe.harmony.chord import chord_or_none
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.degrees import degree_words, key_degree
from transcribe.harmony.key import Key
from transcribe.harmony.sounding import is_curled, sounding_pitch
from transcribe.rhythm.quantize import place_of

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
NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
BEND_WORDS = {1: "a half step", 2: "a whole step", 3: "a step and a half", 4: "two whole steps"}
MOST_OF_IT = 0.6  # share of the notes under a chord from which the chords are those of the lick
LEAST_PASSING = 3  # that are worth a word
MOST_NAMED = 3  # bends or approaches told one by one


def paragraph(document: TakeDocument) -> str | None:
    """Return the paragraph; None for a document with no notes or no key."""
    if not document.notes or document.key is None:
        return None
    sentences = [
        _opening(document, document.key),
        _place(document),
        _harmony(document),
        _approaches(document.notes),
        _bends(document.notes, document.key),
        _techniques(document.notes),
        _ending(document, document.key),
    ]
    return " ".join(sentence for sentence in sentences if sentence)


def _opening(document: TakeDocument, key: Key) -> str:
    scale = _scale(document.notes, key)
    notes = f", on the notes of the {scale}" if scale else ""
    name = f"{key.tonic} {key.mode}"
    return f"{_length(document)} in {name if key.source == 'given' else f'what sounds like {name}'}{notes}."


def _length(document: TakeDocument) -> str:
    """Return how long the lick is, in bars: "Two swung bars with a pickup"."""
    rhythm = document.rhythm
    bars = max((take.timing.bar for take in document.notes if take.timing is not None), default=0)
    if rhythm is None or not bars:
        return "A lick"
    swung = "swung " if rhythm.feel == "swing" else ""
    meter = "" if str(rhythm.meter) == "4/4" else f" of {rhythm.meter}"
    pickup = " with a pickup" if rhythm.pickup_beats else ""
    return _sentence(f"{_number(bars)} {swung}bar{'' if bars == 1 else 's'}{meter}{pickup}")


def _scale(notes: Sequence[TakeNote], key: Key) -> str | None:
    """Return the scale that holds every note of the line, when it uses enough of it to tell."""
    used = {take.degree for take in notes if take.degree is not None}
    used |= {key_degree(take.note.midi, key) for take in notes if _released(take) and take.note.mute != "dead"}
    used = {"b5" if degree == "#4" and key.mode == "minor" else degree for degree in used}
    third = "b3" if key.mode == "minor" else "3"
    for name, degrees in SCALES:
        allowed = MISSING if len(degrees) == 7 else 0
        if third in degrees and used <= degrees and len(degrees - used) <= allowed:
            return name
    return None


def _place(document: TakeDocument) -> str:
    spans = list(dict.fromkeys(str(span) for span in document.shapes))
    if len(spans) == 1 and len(document.shapes) == 1:
        span = document.shapes[0]
        whole = span.first_id == document.notes[0].id and span.last_id == document.notes[-1].id
        return f"{'It lies' if whole else 'Most of it lies'} in the {_shape(spans[0])}."
    if len(spans) > 1:
        return f"On the neck it goes through the {_listed(_shape(name) for name in spans[:4])}."
    positions = [take.position for take in document.notes if take.position]
    if not positions:
        return ""
    low, high = min(positions), max(positions)
    if low == high:
        return f"It stays in {ordinal(low)} position."
    return f"The hand moves between {ordinal(low)} and {ordinal(high)} position."


def _shape(name: str) -> str:
    shape, _, place = name.rpartition(", ")
    return f"{shape} at the {place}" if place != "open" else f"open {shape}"


def _harmony(document: TakeDocument) -> str:
    sentences = []
    given = [span for span in document.chords if span.source == "given"]
    heard = [span for span in document.chords if span.source == "heard"]
    vamp = chord_or_none(document.vamp)
    if vamp is not None and not given:
        sentences.append(f"The backing stays on {vamp}.")
    elif given:
        sentences.append(f"The chords under it are {_listed(_without_repeats(str(span) for span in given))}.")
    superimposed = list(
        dict.fromkeys((str(span), span.backing, span.role or "") for span in heard if span.backing is not None)
    )
    if superimposed:
        told = [f"{chord} over {backing}{f' ({role})' if role else ''}" for chord, backing, role in superimposed]
        sentences.append(f"The notes spell {_listed(told)}.")
    elif heard:
        told = [f"{span}{f' ({span.role})' if span.role else ''}" for span in heard]
        where = "Its notes" if _covered(document, heard) >= MOST_OF_IT else "On the way its notes"
        sentences.append(f"{where} spell {_listed(_without_repeats(told))}.")
    cadences = [span.cadence for span in document.chords if span.cadence]
    if cadences:
        name = cadences[-1]
        article = "an" if name[0] in "aeiou" else "a"
        sentences.append(f"It closes with {article} {name} cadence.")
    return " ".join(sentences)


def _covered(document: TakeDocument, spans: Sequence[ChordSpan]) -> float:
    """Return the share of the notes that lie under chords."""
    if document.rhythm is None:
        return 1.0
    places = [place_of(take.timing, document.rhythm) for take in document.notes if take.timing is not None]
    under = sum(any(span.start_beat <= place < span.end_beat for span in spans) for place in places)
    return under / len(places) if places else 1.0


def _approaches(notes: Sequence[TakeNote]) -> str:
    """Return how the line moves between chord tones: approaches, enclosures, tensions, blue and passing notes."""
    told: list[str] = []
    half_steps = _goals(notes, "half step")
    if half_steps:
        many = sum((take.tone or "").startswith("half step") for take in notes) > 1
        lead = "half steps lead" if many else "a half step leads"
        told.append(f"{lead} into {_listed(half_steps[:MOST_NAMED])}")
    enclosed = _goals(notes, "enclosure")
    if enclosed:
        told.append(
            f"{_listed(enclosed[:MOST_NAMED])} {'is' if len(enclosed) == 1 else 'are'} enclosed from both sides"
        )
    tensions = list(dict.fromkeys(_resolution(take) for take in notes if (take.tone or "").startswith("tension, ")))
    told += [_listed(tensions[:MOST_NAMED])] if tensions else []
    suspended = _goals(notes, "suspension")
    if suspended:
        told.append(f"a suspension resolves to {_listed(suspended)}")
    blue = [take for take in notes if take.tone == "blue note" and take.degree and not is_curled(take.note)]
    if blue:
        names = dict.fromkeys(f"the {degree_words(take.degree or '')}" for take in blue)
        told.append(f"{_listed(names)} {'is a blue note' if len(names) == 1 else 'are blue notes'}")
    if sum(take.tone == "passing tone" for take in notes) >= LEAST_PASSING:
        told.append("passing tones join the chord tones")
    return f"{_sentence('; '.join(told))}." if told else ""


def _goals(notes: Sequence[TakeNote], tone: str) -> list[str]:
    """Return where the notes of one kind lead to, "the 3rd", each once."""
    return list(dict.fromkeys(_goal(take.tone) for take in notes if (take.tone or "").startswith(tone)))


def _goal(tone: str | None) -> str:
    """Return where a tone goes, "the 3rd", from what it does."""
    return "the " + (tone or "").rpartition("the ")[2]


def _resolution(take: TakeNote) -> str:
    """Return a tension and its way out: "the 4th resolves down to the 3rd"."""
    way = (take.tone or "").removeprefix("tension, ")
    own = degree_words(take.chord_degree or take.degree or "")
    return f"the {own} resolves {way}"


def _times(count: int) -> str:
    return "" if count == 1 else "twice " if count == 2 else f"{_number(count).lower()} times "


def _bends(notes: Sequence[TakeNote], key: Key) -> str:
    """Return the bends by degree and size, and the curls."""
    bent: list[str] = []
    for take in notes:
        semitones = sounding_pitch(take.note) - take.note.midi
        if semitones > 0 and take.degree is not None:
            start, goal = degree_words(key_degree(take.note.midi, key)), degree_words(take.degree)
            size = BEND_WORDS.get(semitones, f"{semitones} half steps")
            bent.append(f"the {start} goes up {size} to the {goal}")
    told = []
    if bent:
        different = [_times(bent.count(bend)) + bend for bend in dict.fromkeys(bent)]
        times = f"{_number(len(bent))} bend{'' if len(bent) == 1 else 's'}"
        more = " among them " if len(different) > MOST_NAMED else " "
        told.append(f"{times}:{more}{_listed(different[:MOST_NAMED])}")
    curls = [take for take in notes if is_curled(take.note)]
    if curls:
        where = list(dict.fromkeys(f"the {degree_words(take.degree or '')}" for take in curls if take.degree))
        told.append(f"a quarter-tone curl on {_listed(where)}" if where else "quarter-tone curls")
    return f"{_sentence('; '.join(told))}." if told else ""


def _techniques(notes: Sequence[TakeNote]) -> str:
    counts = {
        "slide": sum(take.note.slide is not None for take in notes),
        "hammer-on": sum(take.note.attack == "hammer-on" for take in notes),
        "pull-off": sum(take.note.attack == "pull-off" for take in notes),
        "palm-muted note": sum(take.note.mute == "palm" for take in notes),
        "dead note": sum(take.note.mute == "dead" for take in notes),
        "natural harmonic": sum(take.note.harmonic == "natural" for take in notes),
    }
    told = [f"{_number(count)} {name}{'' if count == 1 else 's'}" for name, count in counts.items() if count]
    shaken = sum(take.note.vibrato is not None for take in notes)
    if shaken:
        told.append(f"vibrato on {_number(shaken)} note{'' if shaken == 1 else 's'}")
    return f"{_sentence(f'Also {_listed(told)}')}." if told else ""


def _ending(document: TakeDocument, key: Key) -> str:
    last = document.notes[-1]
    together = [take for take in document.notes if abs(take.note.onset_s - last.note.onset_s) < 0.03]
    if last.degree is None or len(together) > 1:
        return ""
    shaken = ", with vibrato" if last.note.vibrato is not None else ""
    return f"It ends on the {degree_words(last.degree)}{shaken}."


def _released(take: TakeNote) -> bool:
    return any(bend.kind == "release" for bend in take.note.bends)


def _without_repeats(words: Iterable[str]) -> list[str]:
    """Return the words, each left out where it stands right after itself."""
    listed = list(words)
    return listed[:1] + [after for before, after in pairwise(listed) if after != before]


def _listed(words: Iterable[str]) -> str:
    """Return words with commas and "and"."""
    listed = list(words)
    if len(listed) < 2:
        return "".join(listed)
    return f"{', '.join(listed[:-1])} and {listed[-1]}"


def _number(count: int) -> str:
    return NUMBERS[count] if count < len(NUMBERS) else str(count)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
