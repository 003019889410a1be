"""The legend: every sign of technique and every line of text that this sheet uses, as a small picture and its meaning.

Signs and their meanings are common practice of guitar notation; the pictures are drawn as the engraver draws them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from transcribe.document.model import TakeNote
from transcribe.score.bent import semitones_of
from transcribe.score.octaves import octave_stretches
from transcribe.score.score import Score
from transcribe.write.engraver.bends import bend_label
from transcribe.write.engraver.canvas import Canvas, Words
from transcribe.write.engraver.curves import arc, arrow_head, bow_down, bow_up, wave
from transcribe.write.engraver.measures import FINGER_SIZE, FRET_DROP, FRET_SIZE, LABEL_SIZE, NUMERAL_SIZE, SMALL_SIZE
from transcribe.write.engraver.options import EngraveOptions
from transcribe.write.engraver.rows import signs
from transcribe.write.engraver.spans import OCTAVE, WORDS
from transcribe.write.engraver.system import LegendEntry, Staff
from transcribe.write.fonts import SANS, SERIF, SERIF_BOLD, SERIF_ITALIC, Face

LINE, TIP = 17.0, -3.0  # where the string of a picture lies, and where its arrows end
AIR = 1.5  # around a picture
HEAD, SMALL = 10.0, 6.5  # how wide a note head is drawn, and a small one
Draw = Callable[[Canvas], object]


@dataclass(frozen=True, slots=True)
class Sign:
    """How a sign looks and what it says."""

    draw: Draw
    words: str


def sign_entries(score: Score, options: EngraveOptions) -> tuple[LegendEntry, ...]:
    """Return an entry for every sign that the music of this sheet holds, in the order of the trade's usual legends."""
    takes = [
        head.take for bar in score.bars for voice in bar.voices for event in voice for head in event.notes
        if not head.tied_from
    ]  # fmt: skip
    found = [
        *_gestures(takes, options.staves != "notation"),
        *_bent_pitches(takes, options),
        *_sounds(score, takes),
        *_lines(score, takes, options),
    ]
    return tuple(_entry(sign, "notation" if options.staves == "notation" else "tab") for sign in found)


def _gestures(takes: list[TakeNote], tab: bool) -> Iterator[Sign]:
    """Yield what the fretting hand does; bends as the tab shows them."""
    notes = [take.note for take in takes]
    kinds = {(bend.kind if place == 0 or bend.kind != "pre-bend" else "bend") for note in notes
             for place, bend in enumerate(note.bends)}  # fmt: skip
    if any(note.attack in ("hammer-on", "pull-off") for note in notes):
        yield Sign(_slurred, "hammer-on or pull-off: pick the first note only")
    if "bend" in kinds and tab:
        largest = {bend.target_cents for note in notes for bend in note.bends if bend.kind != "release"}
        curl = ", ¼ a curl" if any(cents < 75 for cents in largest) else ""
        yield Sign(_raised, f"bend by this much: full is a whole tone, ½ a semitone{curl}")
    if "pre-bend" in kinds and tab:
        yield Sign(_pre_bend, "bend first, then pick")
    if "release" in kinds and tab:
        yield Sign(_release, "let the bend down")
    slides = {note.slide.kind for note in notes if note.slide is not None}
    if "legato" in slides or any(note.attack == "slide" for note in notes):
        yield Sign(lambda canvas: _slide(canvas, slurred=True), "slide, the second note not picked")
    if "shift" in slides:
        yield Sign(lambda canvas: _slide(canvas, slurred=False), "slide, then pick again")
    if slides & {"in", "out"}:
        yield Sign(_open_slide, "slide in from, or out to, no fixed fret")
    if any(note.vibrato is not None for note in notes):
        yield Sign(lambda canvas: wave(canvas, 0.0, 24.0, LINE), "vibrato")


def _bent_pitches(takes: list[TakeNote], options: EngraveOptions) -> Iterator[Sign]:
    """Yield what the notation staff shows of bends."""
    if options.staves == "tab":
        return
    bends = [(place, bend) for take in takes for place, bend in enumerate(take.note.bends)]
    named = [place == 0 and bend.kind == "pre-bend" for place, bend in bends if semitones_of(bend) is not None]
    if False in named:
        yield Sign(_bent_to, "small note: the bend takes the string to this pitch")
    if True in named:
        yield Sign(_bent_before, "in brackets: fretted and bent before it is picked, not heard")
    if options.staves == "notation" and any(semitones_of(bend) is None for _, bend in bends):
        yield Sign(_curl, "push the string up a little: ¼ is half a semitone")


def _sounds(score: Score, takes: list[TakeNote]) -> Iterator[Sign]:
    """Yield how notes sound and end."""
    kinds = {span.kind for span in score.spans}
    if "palm mute" in kinds:
        yield Sign(_written(WORDS["palm mute"]), "palm mute: the picking hand's edge damps the strings")
    if "let ring" in kinds:
        yield Sign(_written(WORDS["let ring"]), "let the notes sound on")
    if any(take.note.mute == "dead" for take in takes):
        yield Sign(_written(Words("x", FRET_SIZE + 1.0, SANS)), "dead note: damped, no clear pitch")
    harmonics = {take.note.harmonic for take in takes}
    if "natural" in harmonics:
        yield Sign(_harmonic("<12>"), "natural harmonic: touch the string over this fret")
    if "artificial" in harmonics:
        yield Sign(_harmonic("5<17>", "A.H."), "artificial harmonic: fret the first, touch over the second")
    if any(take.placement is None for take in takes):
        yield Sign(_written(Words("B4", SMALL_SIZE, SERIF)), "heard, but not placed on the neck")


def _lines(score: Score, takes: list[TakeNote], options: EngraveOptions) -> Iterator[Sign]:
    """Yield the lines of text over and under the staves."""
    shown = options.extra_lines
    places = [take.placement for take in takes if take.placement is not None]
    if "fingers" in shown and any(place.finger for place in places):
        yield Sign(_text("1 2 3 4", FINGER_SIZE), "fingers: 1 is the index, 4 the little finger")
    fretted = [take for take in takes if take.placement is not None and take.placement.fret]
    if "positions" in shown and any(take.position or (take.placement and take.placement.finger) for take in fretted):
        yield Sign(_text("V", NUMERAL_SIZE), "position: the fret under the index finger")
    if options.staves != "tab" and octave_stretches(score.bars):
        yield Sign(_written(OCTAVE), "play an octave higher than written")
    strokes = {place.stroke for place in places if place.stroke}
    if "strokes" in shown and strokes & {"down", "up"}:
        yield Sign(_strokes, "pick down, pick up")
    if "strokes" in shown and strokes - {"down", "up"}:
        yield Sign(_text("p i m a", LABEL_SIZE, SERIF_ITALIC), "thumb, index, middle and ring finger pluck")
    if "degrees" in shown and any(take.degree for take in takes):
        tonic = f", counted from {signs(score.key.tonic)}" if score.key is not None else ""
        yield Sign(_text("♭3", LABEL_SIZE), f"degree of the scale{tonic}")
    if "tones" in shown and any(take.tone for take in takes):
        yield Sign(_text("tone", SMALL_SIZE, SERIF_ITALIC), "what the note does")
    if "chords" in shown and any(mark.role for mark in score.chords):
        yield Sign(_text("IV", LABEL_SIZE, SERIF_BOLD), "place of the chord in the key")
    cadences = sorted({mark.cadence for mark in score.chords if mark.cadence})
    if "chords" in shown and cadences:
        yield Sign(_text(cadences[0], SMALL_SIZE, SERIF_ITALIC), "cadence: how the phrase closes here")


def _entry(sign: Sign, staff: Staff) -> LegendEntry:
    canvas = Canvas(staff)
    sign.draw(canvas)
    top = min(box.top for box in canvas.boxes) - AIR
    bottom = max(box.bottom for box in canvas.boxes) + AIR
    body = f'<g transform="translate(0 {-top:.2f})">{"".join(canvas.parts)}</g>'
    return LegendEntry(body, max(box.right for box in canvas.boxes), bottom - top, sign.words)


def _written(words: Words) -> Draw:
    return lambda canvas: _put(canvas, words)


def _harmonic(text: str, over: str = "") -> Draw:
    """The numbers of a harmonic, or the diamond that the notation staff shows, with what stands over it."""

    def draw(canvas: Canvas) -> None:
        if canvas.staff == "tab":
            right = _put(canvas, Words(text, FRET_SIZE, SANS))
        else:
            right = 11.0
            points = [(0.0, LINE), (right / 2, LINE - 5.0), (right, LINE), (right / 2, LINE + 5.0)]
            path = "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points) + "Z"
            canvas.filled("head", path, points)
        if over:
            canvas.words(Words(over, SMALL_SIZE, SERIF), right / 2, LINE - 8.0)

    return draw


def _text(text: str, size: float, face: Face = SERIF) -> Draw:
    return lambda canvas: _put(canvas, Words(text, size, face))


def _put(canvas: Canvas, words: Words, x: float = 0.0) -> float:
    """Write on the line of the picture; return where the words end."""
    return canvas.words(words, x, LINE + FRET_DROP, anchor="start").right


def _fret(canvas: Canvas, text: str, x: float = 0.0) -> float:
    """Draw a note as its staff shows it, a number or a head, and return where it ends."""
    if canvas.staff == "tab":
        return _put(canvas, Words(text, FRET_SIZE, SANS), x)
    return _head(canvas, x, LINE)


def _head(canvas: Canvas, x: float, y: float, width: float = HEAD) -> float:
    """Draw a note head and return where it ends."""
    right, unit = x + width, width / HEAD
    path = f"M{x:.2f} {y + 1.2 * unit:.2f}C{x:.2f} {y - 3.4 * unit:.2f} {right:.2f} {y - 6.0 * unit:.2f}"
    path += f" {right:.2f} {y - 1.2 * unit:.2f}C{right:.2f} {y + 3.4 * unit:.2f} {x:.2f} {y + 6.0 * unit:.2f}"
    path += f" {x:.2f} {y + 1.2 * unit:.2f}Z"
    canvas.filled("head", path, [(x, y - 3.8 * unit), (right, y + 3.8 * unit)])
    return right


def _corner(canvas: Canvas, left: float, right: float, rise: float) -> None:
    """Draw the angled line from one head to the next, which stands ``rise`` higher."""
    top = LINE - rise - 12.0
    points = [(left, LINE - 6.0), ((left + right) / 2, top), (right, LINE - rise - 5.0)]
    canvas.stroke("bend", "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points), points, width=1.1)


def _bent_to(canvas: Canvas) -> None:
    end = _head(canvas, 0.0, LINE)
    _head(canvas, end + 7.0, LINE - 5.0, SMALL)
    _corner(canvas, HEAD / 2, end + 7.0 + SMALL / 2, 5.0)


def _bent_before(canvas: Canvas) -> None:
    words = Words("(", FRET_SIZE, SERIF), Words(")", FRET_SIZE, SERIF)
    left = canvas.words(words[0], 0.0, LINE + 3.0, anchor="start").right + 0.8
    end = _head(canvas, left, LINE, SMALL)
    end = canvas.words(words[1], end + 0.8, LINE + 3.0, anchor="start").right
    _head(canvas, end + 6.0, LINE - 5.0)
    _corner(canvas, left + SMALL / 2, end + 6.0 + HEAD / 2, 5.0)


def _curl(canvas: Canvas) -> None:
    end = _head(canvas, 0.0, LINE) + 1.0
    bow_up(canvas, (end, LINE), (end + 9.0, TIP + 2.0))
    canvas.words(bend_label(50), end + 9.0, TIP + 0.5)


def _slurred(canvas: Canvas) -> None:
    first = _fret(canvas, "5")
    second = _fret(canvas, "7", first + 14.0)
    arc(canvas, "slur", (first / 2, LINE - 6.5), (second - 3.0, LINE - 6.5), 5.0)


def _raised(canvas: Canvas) -> tuple[float, float]:
    end = _fret(canvas, "7") + 1.0
    tip = (end + 11.0, TIP)
    bow_up(canvas, (end, LINE), tip)
    canvas.words(bend_label(200), tip[0], TIP - 1.5)
    return tip


def _pre_bend(canvas: Canvas) -> None:
    middle = _fret(canvas, "7", 6.0) - 3.3
    canvas.stroke("bend", f"M{middle:.2f} {LINE - 5.5}L{middle:.2f} {TIP + 2.0}", [(middle, TIP), (middle, LINE)])
    arrow_head(canvas, (middle, TIP - 2.0), up=True)
    canvas.words(bend_label(200), middle, TIP - 3.0)


def _release(canvas: Canvas) -> None:
    x, y = _raised(canvas)
    back = x + 15.0
    bow_down(canvas, (x + 2.0, y), (back, LINE - 6.0))
    _fret(canvas, "(7)", back - Words("(7)", FRET_SIZE, SANS).width / 2)


def _slide(canvas: Canvas, *, slurred: bool) -> None:
    first = _fret(canvas, "5")
    second = _fret(canvas, "7", first + 16.0)
    _line(canvas, first + 2.2, first + 13.8)
    if slurred:
        arc(canvas, "slur", (first / 2, LINE - 6.5), (second - 3.0, LINE - 6.5), 5.0)


def _open_slide(canvas: Canvas) -> None:
    _line(canvas, 0.0, 9.0)
    end = _fret(canvas, "7", 11.2)
    _line(canvas, end + 2.2, end + 11.2)


def _line(canvas: Canvas, left: float, right: float) -> None:
    y = LINE
    canvas.stroke("slide", f"M{left:.2f} {y + 3.0}L{right:.2f} {y - 3.0}", [(left, y + 3.0), (right, y - 3.0)])


def _strokes(canvas: Canvas) -> None:
    """A square bracket open below for down, a V for up."""
    top, foot = LINE - 7.0, LINE + 2.0
    canvas.stroke("sign", f"M1 {foot}V{top}H9V{foot}", [(1.0, top), (9.0, foot)], width=1.2)
    canvas.rect("sign", 1.0, top - 0.6, 9.0, top + 2.2)
    canvas.stroke("sign", f"M19 {top}L22.5 {foot}L26 {top}", [(19.0, top), (26.0, foot)], width=1.2)
