"""Licks that are hard to engrave: crowded, high, low, bent over ringing strings, in odd meters and far keys."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

from fingering.passage import Placement
from tests.golden.licks import WAVE, Page
from transcribe.document.model import TakeDocument
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key import Key
from transcribe.notes.note import Doubt, Slide
from transcribe.rhythm.rhythm import Meter

Push = tuple[str, float]


class FingeredPage(Page):
    """A page whose notes tell finger, stroke, degree and what the note does."""

    def play(
        self,
        value: str,
        string: int,
        fret: int,
        finger: int | None = None,
        *,
        stroke: str | None = None,
        degree: str | None = None,
        tone: str | None = None,
        **told: object,
    ) -> str:
        """Add a note and return its id."""
        name = self.note(value, string, fret, **told)  # type: ignore[arg-type]
        place = Placement(name, string, fret, finger, stroke)
        self.notes[-1] = replace(self.notes[-1], placement=place, degree=degree, tone=tone)
        return name

    def hold(self, name: str, value: str) -> None:
        """Write a note longer than the step it was added with: it rings on under what follows."""
        for place, item in enumerate(self.notes):
            if item.id == name:
                assert item.timing is not None
                end_s = item.note.onset_s + float(Fraction(value)) * self.rhythm.beat_s
                timing = replace(item.timing, value=Fraction(value))
                self.notes[place] = replace(item, note=replace(item.note, offset_s=end_s), timing=timing)


def oblique() -> TakeDocument:
    """Bends under a ringing string, a unison bend, a double bend, a bend held over notes on another string."""
    page = FingeredPage(bpm=76.0)
    page.play("2", 2, 8, 4, degree="5", let_ring=True)
    page.play("1", 3, 7, 3, degree="4", pushes=(("bend", 200),), with_last=False)
    page.at -= Fraction(3)
    page.at += Fraction(0)
    page.notes[-1] = replace(page.notes[-1], timing=replace(page.notes[-1].timing, beat=Fraction(0), value=Fraction(2)))
    page.at = Fraction(2)
    page.play("1", 3, 9, 3, degree="5", pushes=(("bend", 200),), stroke="down")
    page.play("1", 2, 10, 1, degree="6", stroke="down", with_last=True)
    page.play("1", 2, 8, 3, degree="5", pushes=(("bend", 200), ("release", 0)), vibrato=WAVE)
    held = page.play("1", 3, 9, 3, degree="5", pushes=(("bend", 200),), stroke="down")
    for fret in (8, 10):
        page.play("1/2", 1, fret, 1 if fret == 8 else 4, degree="1", stroke="up")
    page.play("1", 2, 8, 1)
    page.hold(held, "2")
    page.play("1", 2, 8, 2, pushes=(("bend", 200),), degree="5")
    page.play("1", 3, 7, 1, pushes=(("bend", 100),), with_last=True, degree="b3")
    return page.document(key=Key("C", "major"))


def triplets() -> TakeDocument:
    """Triplets with bends, pulled-off and hammered notes, quarter triplets, a bend with release on a short note."""
    page = FingeredPage(bpm=68.0, pickup="1/2")
    page.play("1/2", 3, 5, 1, degree="1")
    page.play("1/3", 3, 7, 3, pushes=(("bend", 200),), degree="2")
    page.play("1/3", 2, 5, 1, degree="3")
    page.play("1/3", 2, 8, 4, pushes=(("bend", 200), ("release", 0)), degree="5")
    page.play("1/3", 2, 8, 4, degree="5")
    page.play("1/3", 2, 5, 1, attack="pull-off", degree="3")
    page.play("1/3", 3, 7, 3, degree="2")
    for fret, finger in ((5, 1), (7, 3), (5, 1)):
        page.play("2/3", 3, fret, finger, degree="1")
    page.play("3/4", 3, 7, 3, pushes=(("pre-bend", 200), ("release", 0)), vibrato=WAVE)
    page.play("1/4", 3, 5, 1, degree="1")
    page.play("3/4", 4, 7, 3, degree="6")
    page.play("1/4", 4, 5, 1, attack="pull-off", degree="5")
    page.play("1/4", 4, 7, 3)
    page.play("1/8", 4, 5, 1)
    page.play("1/8", 4, 7, 3, attack="hammer-on")
    page.play("1/4", 3, 5, 1)
    page.play("1/4", 3, 6, 2, pushes=(("bend", 50),))
    page.play("1", 4, 7, 3, vibrato=WAVE)
    return page.document(key=Key("C", "major"))


def high() -> TakeDocument:
    """Frets 17 to 22 with ledger lines, two-digit sixteenths, slides of every kind, five flats."""
    page = FingeredPage(bpm=120.0)
    for fret, finger in ((17, 1), (20, 4), (17, 1), (19, 3)):
        page.play("1/4", 1, fret, finger, degree="b7")
    for string, fret in ((2, 20), (2, 18), (3, 19), (3, 17)):
        page.play("1/4", string, fret, fret - 16, degree="#4")
    page.play("1/2", 1, 22, 4, pushes=(("bend", 200),), degree="5")
    page.play("1/2", 1, 20, 3, pushes=(("pre-bend", 100),))
    page.slide("1/2", 2, 18, 22)
    page.play("1/2", 2, 22, 4, attack="slide")
    page.play("1/2", 1, 21, 3, slide=Slide("in", 300.0))
    page.play("1/2", 1, 22, 4, slide=Slide("out", -800.0))
    page.play("3", 2, 22, 4, vibrato=WAVE)
    return page.document(key=Key("Db", "major"), doubts=(Doubt("heard only once", "n5"),))


def chords() -> TakeDocument:
    """Chords of six notes with fingers, palm mutes under a line, chord symbols with roles, strokes."""
    page = FingeredPage(bpm=104.0, capo=3)
    frets = ((1, 5, 1), (2, 5, 1), (3, 6, 2), (4, 7, 4), (5, 7, 3), (6, 5, 1))
    for place, (string, fret, finger) in enumerate(frets):
        page.play("1", string, fret, finger, stroke="down", with_last=place > 0)
    for place, (string, fret, finger) in enumerate(frets[:4]):
        page.play("1", string, fret, finger, stroke="up", with_last=place > 0)
    for fret in (5, 5, 8, 5):
        page.play("1/2", 6, fret, 1, mute="palm", stroke="down")
    for _ in range(2):
        page.play("1/4", 5, 5, None, mute="dead", stroke="down")
    page.play("1/2", 5, 7, 3, mute="palm")
    page.rest("1")
    for place, (string, fret, finger) in enumerate(((1, 3, 1), (2, 3, 1), (3, 4, 2), (4, 5, 4))):
        page.play("2", string, fret, finger, with_last=place > 0, tone="chord tone")
    spans = (
        ChordSpan(Fraction(0), Fraction(4), "A", role="I", shape="E", fret=5),
        ChordSpan(Fraction(4), Fraction(6), "Bbmaj7#11", role="bII", over="F"),
        ChordSpan(Fraction(6), Fraction(8), "F#m7b5", role="IV over I"),
    )
    return replace(page.document(key=Key("A", "major")), chords=spans)


def six_eight() -> TakeDocument:
    """Fingerpicking in six-eight: ringing strings in two voices, p i m a, harmonics, a pickup of an eighth."""
    page = FingeredPage(meter=Meter(6, 8), bpm=84.0, pickup="1/2")
    page.play("1/2", 2, 1, 1, stroke="i")
    for bass, top in ((3, 0), (2, 3)):
        low = page.play("1/2", 5, bass, 3, stroke="p", let_ring=True)
        for string, fret, finger, stroke in ((4, 2, 2, "i"), (3, 0, None, "m"), (2, 1, 1, "a"), (1, top, None, "m")):
            page.play("1/2", string, fret, finger, stroke=stroke)
        page.play("1/2", 3, 0, None, stroke="i")
        page.hold(low, "3")
    page.play("3/2", 1, 12, 4, stroke="a", harmonic="natural")
    page.rest("1/2")
    page.play("1/4", 1, 3, 4, stroke="m")
    page.play("1/4", 1, 1, 1, attack="pull-off")
    page.play("1/2", 1, 0, attack="pull-off")
    page.play("3", 2, 1, 1, stroke="a")
    return page.document(key=Key("C", "major"))


def harmonics() -> TakeDocument:
    """Natural harmonics and artificial ones, alone, in a row, beside fretted notes, with vibrato, on a doubted note."""
    page = FingeredPage(bpm=90.0)
    for string, node in ((6, 12), (5, 7), (1, 5)):
        page.play("1/2", string, node, harmonic="natural", degree="5")
        last = page.notes[-1]
        midi = last.note.midi - node + {12: 12, 7: 19, 5: 24}[node]
        page.notes[-1] = replace(last, note=replace(last.note, midi=midi))
    page.play("1/2", 2, 5, 1, degree="1")
    for fret, above in ((5, 12), (7, 12), (5, 19), (7, 24)):
        page.play("1/2", 3, fret, fret // 2 - 1, harmonic="artificial", stroke="i", degree="1")
        last = page.notes[-1]
        page.notes[-1] = replace(last, note=replace(last.note, midi=last.note.midi + above))
    page.play("1", 3, 9, 3, harmonic="artificial", vibrato=WAVE)
    last = page.notes[-1]
    page.notes[-1] = replace(last, note=replace(last.note, midi=last.note.midi + 12))
    page.play("3", 3, 7, 1)
    return page.document(key=Key("A", "minor"), doubts=(Doubt("harmonic or fretted?", "n8"),))


def held() -> TakeDocument:
    """Bends held and let down over a bar line, bends on syncopated notes, quarter, half, quarter."""
    page = FingeredPage(bpm=90.0)
    page.rest("2")
    page.play("4", 3, 7, 3, pushes=(("bend", 200), ("release", 0)))
    page.play("1", 2, 8, 4, pushes=(("bend", 200),), attack="hammer-on")
    page.play("1", 2, 5, 1, attack="pull-off")
    page.play("1", 2, 5, 1)
    page.play("2", 2, 6, 2, pushes=(("bend", 100),))
    page.play("1", 2, 5, 1)
    page.rest("3")
    page.play("5", 2, 8, 4, pushes=(("pre-bend", 200), ("release", 0)), vibrato=WAVE)
    for value in ("1/2", "1", "1/2", "1/2", "1", "1/2"):
        page.play(value, 1, 8, 4, pushes=(("bend", 200),) if value == "1" else ())
    return page.document(key=Key("A", "minor"))


def two_voices() -> TakeDocument:
    """A held string over bends, a ringing bass, double stops, cadences, a bend tied over the bar under a melody."""
    page = FingeredPage(bpm=76.0)
    top = page.play("1", 2, 8, 4, degree="5")
    page.hold(top, "4")
    page.at -= 1
    page.play("1", 3, 7, 3, degree="4", pushes=(("bend", 200),))
    page.play("1", 3, 7, 3, degree="4", pushes=(("bend", 200), ("release", 0)))
    page.play("1/2", 3, 5, 1, degree="b3", attack="pull-off")
    page.play("1/2", 3, 7, 3, degree="4", attack="hammer-on")
    page.play("1", 4, 7, 3, degree="1")
    low = page.play("1", 6, 5, 1, degree="1", let_ring=True)
    page.hold(low, "4")
    page.rest("1/2")
    page.play("1/2", 1, 5, 1, degree="1")
    page.play("1/2", 1, 8, 4, degree="b3", pushes=(("bend", 100),))
    page.play("1/2", 1, 5, 1, degree="1")
    page.play("1", 2, 8, 4, degree="5", vibrato=WAVE)
    low = page.play("1", 5, 7, 1, stroke="p", degree="5")
    page.hold(low, "2")
    page.at -= 1
    page.play("1", 3, 9, 3, pushes=(("pre-bend", 200), ("release", 0)), stroke="m", degree="5")
    page.play("1", 3, 7, 2, stroke="i", degree="4")
    for high, under, finger in ((7, 8, 2), (5, 6, 2)):
        page.play("1", 1, high, 1, degree="2", stroke="a")
        page.play("1", 3, under, finger, with_last=True, stroke="i")
    bent = page.play("1", 3, 7, 3, pushes=(("bend", 200),), degree="4")
    for string, fret in ((2, 5), (2, 8), (1, 5)):
        page.play("1", string, fret, 1 if fret == 5 else 4, degree="5")
    page.hold(bent, "6")
    page.play("2", 1, 8, 4, degree="b3")
    page.play("2", 2, 5, 1, degree="3")
    chords = (
        ChordSpan(Fraction(0), Fraction(8), "Am", "i"),
        ChordSpan(Fraction(8), Fraction(12), "E7", "V7", cadence="half"),
        ChordSpan(Fraction(12), Fraction(20), "Am", "i", cadence="perfect authentic"),
    )
    return replace(page.document(key=Key("A", "minor"), doubts=(Doubt("bend or slide?", "n2"),)), chords=chords)


def long_line(bars: int = 32) -> TakeDocument:
    """Thirty-two bars of eighths and sixteenths with bends, slurs and vibrato: for breaks and speed."""
    page = FingeredPage(bpm=100.0)
    for bar in range(bars):
        up = bar % 5
        page.play("1/2", 3, 5 + up, 1, degree="1")
        page.play("1/2", 3, 7 + up, 3, degree="2", attack="hammer-on")
        page.play("1/2", 2, 5 + up, 1, degree="3")
        page.play("1/2", 2, 8 + up, 4, degree="5", pushes=(("bend", 200),) if bar % 2 else ())
        if bar % 3:
            page.play("1", 1, 5 + up, 1, degree="6", vibrato=WAVE)
            page.play("1", 1, 8 + up, 4, degree="1")
        else:
            for fret, finger in ((8, 4), (7, 3), (5, 1), (7, 3)):
                page.play("1/4", 1, fret + up, finger, degree="1")
            page.rest("1")
    return page.document(key=Key("G", "major"))


PUSHES: tuple[tuple[Push, ...], ...] = (
    (("bend", 200),), (("bend", 100),), (("bend", 50),), (("bend", 150),), (("bend", 300),),
    (("bend", 200), ("release", 0)), (("pre-bend", 200), ("release", 0)), (("pre-bend", 100),),
    (("bend", 200), ("release", 0), ("bend", 100)),
)  # fmt: skip


def shuffled(seed: int) -> TakeDocument:
    """Three bars of anything, crowded with bends: the same for the same seed."""
    dice = random.Random(seed)
    page = FingeredPage(bpm=90.0)
    while page.at < 12:
        value, kind = dice.choice(["1/4", "1/2", "1/2", "1", "1", "3/2", "2"]), dice.random()
        pushes = dice.choice(PUSHES) if kind < 0.4 else ()
        if 0.4 <= kind < 0.5:
            page.rest(value)
            continue
        string, fret = dice.choice([1, 1, 2, 2, 3, 3, 4]), dice.randrange(3, 18)
        told: dict[str, object] = {"degree": dice.choice(["1", "b3", "#4"]), "pushes": pushes}
        if not pushes and dice.random() < 0.3:
            told["attack"] = dice.choice(["hammer-on", "pull-off"])
        if dice.random() < 0.15:
            told["vibrato"] = WAVE
        page.play(value, string, fret, dice.choice([1, 2, 3, 4]), **told)
        if dice.random() < 0.25:
            other = dice.choice([other for other in (1, 2, 3, 4, 5) if other != string])
            pushes = dice.choice([(), (), PUSHES[0], PUSHES[1]])
            fret = max(1, fret + dice.choice([-2, -1, 0, 1]))
            page.play(value, other, fret, dice.choice([1, 2, 3]), with_last=True, pushes=pushes, degree="5")
    key = Key(dice.choice(["A", "E", "Bb", "F#"]), dice.choice(["minor", "major"]))
    return page.document(key=key)


HARD = {
    "oblique": oblique(),
    "triplets": triplets(),
    "high": high(),
    "chords": chords(),
    "six-eight": six_eight(),
    "harmonics": harmonics(),
    "held": held(),
    "two voices": two_voices(),
    "long": long_line(),
}
