"""The legend of the engraver's own marks: small pictures with what they mean."""

from __future__ import annotations

from transcribe.score.score import Score
from transcribe.write.engraver.canvas import Canvas, Words
from transcribe.write.engraver.measures import FRET_DROP, FRET_SIZE, LABEL_SIZE, TEMPO_SIZE
from transcribe.write.engraver.options import EngraveOptions
from transcribe.write.engraver.stems import STEM_WIDTH
from transcribe.write.engraver.system import DOUBT, LegendEntry
from transcribe.write.engraver.tab import ring
from transcribe.write.fonts import SANS, SERIF_BOLD

HEIGHT = 24.0
MIDDLE = 15.0


def legend_of(score: Score, options: EngraveOptions) -> tuple[LegendEntry, ...]:
    """Return an entry for every mark on this sheet that notation by itself does not explain."""
    entries = []
    known = {head.take.id for bar in score.bars for voice in bar.voices for event in voice for head in event.notes}
    if not options.final and any(doubt.note in known for doubt in score.doubts):
        entries.append(_doubt())
    if options.heading and not options.final and not score.tempo_is_given:
        entries.append(_about())
    if options.staves == "tab" and any(
        event.value.type == "half" and event.notes for bar in score.bars for voice in bar.voices for event in voice
    ):
        entries.append(_half())
    return tuple(entries)


def _doubt() -> LegendEntry:
    canvas = Canvas("tab")
    words = Words("7", FRET_SIZE, SANS)
    canvas.words(words, 9.0, MIDDLE + FRET_DROP, kind="fret")
    ring(canvas, 9.0 - words.width / 2, 9.0 + words.width / 2, MIDDLE, note=None)
    canvas.words(Words("?", LABEL_SIZE + 1.0, SERIF_BOLD), 21.0, MIDDLE + FRET_DROP, kind="doubt", colour=DOUBT)
    return LegendEntry("".join(canvas.parts), 27.0, HEIGHT, "doubtful, listen again")


def _about() -> LegendEntry:
    canvas = Canvas("tab")
    words = Words("≈", TEMPO_SIZE, SERIF_BOLD)
    canvas.words(words, 0.0, MIDDLE + 4.0, anchor="start")
    return LegendEntry("".join(canvas.parts), words.width, HEIGHT, "tempo estimated from the recording")


def _half() -> LegendEntry:
    canvas = Canvas("tab")
    canvas.rect("stem", 6.0 - STEM_WIDTH / 2, MIDDLE - 7.0, 6.0 + STEM_WIDTH / 2, MIDDLE + 7.0)
    return LegendEntry("".join(canvas.parts), 12.0, HEIGHT, "short stem: half note; no stem: whole note")
