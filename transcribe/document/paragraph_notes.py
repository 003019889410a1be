"""What the paragraph says of single notes: where they lead, what is bent, how they are played."""

from __future__ import annotations

from collections.abc import Sequence

from transcribe.document.model import TakeNote
from transcribe.document.words import counted, listed, sentence, times
from transcribe.harmony.degrees import degree_words, key_degree
from transcribe.harmony.key import Key
from transcribe.harmony.sounding import is_curled, sounding_pitch

BEND_WORDS = {1: "a half step", 2: "a whole step", 3: "a step and a half", 4: "two whole steps"}
LEAST_PASSING = 3  # that are worth a word
MOST_NAMED = 3  # bends or approaches told one by one
TOGETHER_S = 0.03  # notes that start so near to one another are struck together


def note_sentences(notes: Sequence[TakeNote], key: Key) -> tuple[str, ...]:
    """Return the sentences on approaches, bends and techniques; empty ones where there is nothing to tell."""
    return _approaches(notes), _bends(notes, key), _techniques(notes)


def _approaches(notes: Sequence[TakeNote]) -> str:
    """Return how the line moves between chord tones: approaches, enclosures, tensions, blue and passing notes."""
    told: list[str] = []
    half_steps = _goals(notes, "half step")
    if half_steps:
        many = sum((take.tone or "").startswith("half step") for take in notes) > 1
        lead = "half steps lead" if many else "a half step leads"
        told.append(f"{lead} into {listed(half_steps[:MOST_NAMED])}")
    enclosed = _goals(notes, "enclosure")
    if enclosed:
        told.append(f"{listed(enclosed[:MOST_NAMED])} {'is' if len(enclosed) == 1 else 'are'} enclosed from both sides")
    tensions = list(dict.fromkeys(_resolution(take) for take in notes if (take.tone or "").startswith("tension, ")))
    told += [listed(tensions[:MOST_NAMED])] if tensions else []
    for name, way in (("suspension", "down"), ("retardation", "up")):
        goals = _goals(notes, name)
        if goals:
            told.append(f"a {name} resolves {way} to {listed(goals)}")
    blue = [take for take in notes if take.tone == "blue note" and take.degree and not is_curled(take.note)]
    if blue:
        names = dict.fromkeys(f"the {degree_words(take.degree or '')}" for take in blue)
        told.append(f"{listed(names)} {'is a blue note' if len(names) == 1 else 'are blue notes'}")
    if sum(take.tone == "passing tone" for take in notes) >= LEAST_PASSING:
        told.append("passing tones join the chord tones")
    return f"{sentence('; '.join(told))}." if told else ""


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


def _bends(notes: Sequence[TakeNote], key: Key) -> str:
    """Return the bends by degree and size, and the curls."""
    bent: list[str] = []
    for take in notes:
        start, highest = degree_words(key_degree(take.note.midi, key)), sounding_pitch(take.note) - take.note.midi
        for semitones in _pushes(take):
            if take.degree is None:
                continue
            degree = take.degree if semitones == highest else key_degree(take.note.midi + semitones, key)
            goal = degree_words(degree)
            size = BEND_WORDS.get(semitones, f"{semitones} half steps")
            bent.append(f"the {start} goes up {size} to the {goal}")
    told = []
    if bent:
        different = [bend + times(bent.count(bend)) for bend in dict.fromkeys(bent)]
        among = ", among them " if len(different) > MOST_NAMED else ": "
        told.append(f"{counted(len(bent), 'bend')}{among}{listed(different[:MOST_NAMED])}")
    curls = [take for take in notes if is_curled(take.note)]
    if curls:
        where = list(dict.fromkeys(f"the {degree_words(take.degree or '')}" for take in curls if take.degree))
        told.append(f"a quarter-tone curl on {listed(where)}" if where else "quarter-tone curls")
    return f"{sentence('; '.join(told))}." if told else ""


def _pushes(take: TakeNote) -> list[int]:
    """Return how far each bend of a note goes, in semitones; letting down is none, and neither is a curl."""
    if is_curled(take.note):
        return []
    sizes = (round(bend.target_cents / 100) for bend in take.note.bends if bend.kind != "release")
    return [semitones for semitones in sizes if semitones > 0]


def _techniques(notes: Sequence[TakeNote]) -> str:
    counts = {
        "slide": sum(take.note.slide is not None for take in notes),
        "hammer-on": sum(take.note.attack == "hammer-on" for take in notes),
        "pull-off": sum(take.note.attack == "pull-off" for take in notes),
        "palm-muted note": sum(take.note.mute == "palm" for take in notes),
        "dead note": sum(take.note.mute == "dead" for take in notes),
        "natural harmonic": sum(take.note.harmonic == "natural" for take in notes),
    }
    told = [counted(count, name) for name, count in counts.items() if count]
    shaken = [take for take in notes if take.note.vibrato is not None]
    if shaken and not (shaken == [notes[-1]] and ends_alone(notes)):  # how it ends tells that one
        told.append(f"vibrato on {counted(len(shaken), 'note')}")
    return f"{sentence(f'also {listed(told)}')}." if told else ""


def ends_alone(notes: Sequence[TakeNote]) -> bool:
    """Return whether the last note has a degree and nothing is struck with it: worth a word on how the lick ends."""
    last = notes[-1]
    together = [take for take in notes if abs(take.note.onset_s - last.note.onset_s) < TOGETHER_S]
    return last.degree is not None and len(together) == 1
