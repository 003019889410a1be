"""Why a note is doubted, in words a player uses: the likeliest reason, from what speaks against it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from transcribe.notes.odds import Odds

Grounds = Mapping[str, float]

LEAST_SHORTFALL = 0.25  # log-odds: a ground that costs less than this is no reason


@dataclass(frozen=True, slots=True)
class Reason:
    """Words, and the grounds that lead to them: each must lie from ``low`` to ``high``; the first one is weighed."""

    why: str
    bounds: Mapping[str, tuple[float, float]]

    def fits(self, grounds: Grounds) -> bool:
        """Return whether every ground lies within its bounds."""
        return all(low <= grounds[name] <= high for name, (low, high) in self.bounds.items())


ALL = 1e9
BODY_MIDI = (42.0, 58.0)  # bodies answer near 100 and 200 Hz, and a tone around (common practice)

OF_A_LINE = (
    Reason("this may sound an octave lower", {"octave": (0.5, ALL)}),
    Reason("struck again, or still the note before? the same pitch began just before", {"since_same_s": (0.0, 0.25)}),
    Reason("perhaps an echo of the same note before it", {"repeats_db": (5.0, ALL)}),
    Reason("very short: it may be pick or finger noise", {"length_s": (0.0, 0.08)}),
    Reason("the pitch lies between two frets", {"off_cents": (20.0, ALL)}),
    Reason("no start was heard: it may be another string or the room ringing on", {"unknown": (1.0, 1.0)}),
    Reason("soft start: it may be the note before ringing on, or a hammer-on, pull-off or slide", {"pick": (0.0, 0.7)}),
    Reason("the change of pitch that begins it is not plain", {"step": (0.0, 0.7)}),
    Reason("bend or slide: the move between the pitches was too quick or too noisy to tell", {"gestures": (0.0, 0.8)}),
    Reason("the pitch is hard to hear here", {"salience": (0.0, 0.55)}),
    Reason("very soft: perhaps a string that rings along", {"softer_db": (14.0, ALL)}),
    Reason("the pitch wavers too much to be sure of", {"unsteady_cents": (8.0, ALL)}),
)
SECOND_OF_A_LINE = (
    Reason("heard a second time, another pitch sounds here", {"second_other": (0.3, ALL)}),
    Reason("heard a second time, no note begins here", {"second_onset": (0.0, 0.5)}),
)
OF_SEVERAL = (
    Reason("perhaps only an overtone of a lower note that sounds with it", {"under": (0.5, ALL)}),
    Reason("perhaps an octave or more too low: a higher note sounds with it", {"above": (0.5, ALL)}),
    Reason(
        "struck again, or one note ringing on? the same pitch was sounding just before",
        {"gap_same_s": (0.0, 0.08), "since_same_s": (0.0, 0.99)},
    ),
    Reason("perhaps an echo of the same note before it", {"repeats_db": (5.0, ALL)}),
    Reason(
        "perhaps the body of the guitar, which answers at this pitch again and again",
        {"habit": (0.5, ALL), "midi": BODY_MIDI, "together": (2.0, ALL)},
    ),
    Reason("very short: it may be pick or finger noise", {"length_s": (0.0, 0.08)}),
    Reason("found inside another note: a slide, or another string's pitch", {"inside": (1.0, 1.0)}),
    Reason("very soft: perhaps a string that rings along", {"softer_db": (14.0, ALL)}),
    Reason("its pitch is unsure among the other strings", {"contour": (0.0, 0.75)}),
    Reason("the pitch wavers too much to be sure of", {"unsteady_cents": (12.0, ALL)}),
)
OF_SEVERAL_LAST = (
    Reason("its beginning is unsure: perhaps the string before goes on, or a hand touched it", {"legato": (1.0, 1.0)}),
    Reason("one note of a chord, and an unsure one", {"together": (2.0, ALL)}),
)
ELSE = "perhaps no note of its own: another string, the body or a hand may have made it sound"


def likeliest_reason(grounds: Grounds, odds: Odds) -> str:
    """Return the words for what speaks most against a note; general ones where nothing stands out."""
    short = dict(odds.weaknesses(grounds))
    first, last = (OF_SEVERAL, OF_SEVERAL_LAST) if "sure" in grounds else (OF_A_LINE, SECOND_OF_A_LINE)
    weighed = [(max(short.get(name, 0.0) for name in reason.bounds), reason.why) for reason in _fitting(first, grounds)]
    weight, why = max(weighed, key=lambda pair: pair[0], default=(0.0, ELSE))
    if weight >= LEAST_SHORTFALL:
        return why
    return next((reason.why for reason in _fitting(last, grounds)), ELSE)


def _fitting(reasons: Sequence[Reason], grounds: Grounds) -> list[Reason]:
    return [each for each in reasons if all(name in grounds for name in each.bounds) and each.fits(grounds)]
