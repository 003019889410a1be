"""What stands on a string for one note: fret, bends, slides, vibrato, in the usual signs of text tab.

The signs are common practice: h p / \\ b r ~ x, <12> for a harmonic, 5<17> for an artificial one. A bend names the
fret whose pitch it reaches (7b9), so that the reader can check it by ear; amounts between frets are told in whole tones
(1/4 is a curl).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from transcribe.notes.note import Bend, Note
from transcribe.score.score import ScoreNote

JOINTS = {"hammer-on": "h", "pull-off": "p"}
# Every sign in the order of the legend: how it looks and what it says.
MEANINGS = {
    "h": ("5h7", "hammer-on"),
    "p": ("7p5", "pull-off"),
    "/": ("5/7", "slide up"),
    "\\": ("7\\5", "slide down"),
    "s": ("5s7", "slide, then pick again"),
    "in": ("/7 \\7", "slide in from below, from above"),
    "out": ("7\\ 7/", "slide out downwards, upwards"),
    "b": ("7b9", "bend 7 up to the sound of 9"),
    "r": ("9r7", "let the bend down"),
    "pre": ("(7b9)", "bend first, then pick"),
    "amount": ("b(1/4)", "bend by part of a whole tone; 1/4 is a curl"),
    "~": ("~~~", "vibrato"),
    "x": ("x", "dead note"),
    "<>": ("<12>", "harmonic"),
    "A.H.": ("5<17>", "artificial harmonic: fret 5, touch over 17"),
    "held": ("(7)", "still sounding"),
    "P.M.": ("P.M.", "palm mute"),
    "let ring": ("let ring", "let the notes sound on"),
    "name": ("A4", "a note heard but not placed on the neck"),
    "?": ("?", "doubtful, listen again"),
}


@dataclass(frozen=True, slots=True)
class Cell:
    """The text of one note on its string."""

    text: str
    anchor: int = 0  # where in the text the fret number begins; it stands on the beat
    wave: bool = False  # vibrato follows as far as there is room
    after: str = ""  # and last of all a slide out
    signs: frozenset[str] = frozenset()  # keys of MEANINGS

    @property
    def right(self) -> int:
        """Characters from the anchor to the end, vibrato at its shortest."""
        return len(self.text) - self.anchor + self.wave + len(self.after)


def cell(head: ScoreNote, *, starts_bar: bool) -> Cell:
    """Return what to write for a placed note; a tied head shows again, in brackets, only where a bar starts."""
    note, placement = head.take.note, head.take.placement
    assert placement is not None
    if head.tied_from:
        return Cell(f"({placement.fret})", 1, signs=frozenset({"held"})) if starts_bar else Cell("")
    text, signs = str(placement.fret), set()
    if note.mute == "dead":
        text, signs = "x", {"x"}
    elif note.harmonic != "none":
        text, signs = _harmonic(placement.fret, head)
    text, anchor = _bent(text, note.bends, placement.fret, signs)
    after = ""
    if note.slide is not None and note.slide.kind == "in":
        text, anchor = ("/" if note.slide.cents >= 0 else "\\") + text, anchor + 1
        signs.add("in")
    if note.slide is not None and note.slide.kind == "out":
        after = "/" if note.slide.cents > 0 else "\\"
        signs.add("out")
    if note.vibrato is not None:
        signs.add("~")
    return Cell(text, anchor, note.vibrato is not None, after, frozenset(signs))


def _harmonic(fret: int, head: ScoreNote) -> tuple[str, set[str]]:
    if head.take.note.harmonic == "natural":
        return f"<{fret}>", {"<>"}
    return (str(fret) if head.touched_fret is None else f"{fret}<{head.touched_fret}>"), {"A.H."}


def _bent(text: str, bends: Sequence[Bend], fret: int, signs: set[str]) -> tuple[str, int]:
    """A fret with its bends and releases, and where the fret begins in it."""
    anchor = int(text.startswith("<"))
    for index, bend in enumerate(bends):
        target = _target(bend, fret, signs)
        if bend.kind == "pre-bend" and index == 0:
            text, anchor = f"({text}b{target})", anchor + 1
            signs.add("pre")
        elif bend.kind == "release":
            text += f"r{target}"
            signs.add("r")
        else:
            text += f"b{target}"
            signs |= {"b"} if target.isdigit() else set()  # a part of a tone has a sign of its own
    return text, anchor


def _target(bend: Bend, fret: int, signs: set[str]) -> str:
    quarter_tones = round(bend.target_cents / 50.0)
    if bend.kind != "release":
        quarter_tones = max(1, quarter_tones)
    if quarter_tones % 2 == 0:
        return str(fret + quarter_tones // 2)
    signs.add("amount")
    whole, part = divmod(quarter_tones, 4)
    return f"({whole} {part}/4)" if whole else f"({part}/4)"


def joint(source: Note, target: Note) -> str:
    """Return the sign between two notes on one string, or nothing when the second is simply picked."""
    if target.attack in JOINTS:
        return JOINTS[target.attack]
    slides_here = source.slide is not None and source.slide.to == target.id
    if slides_here and source.slide is not None and source.slide.kind == "shift":
        return "s"
    if slides_here or target.attack == "slide":
        return "/" if target.midi >= source.midi else "\\"
    return ""
