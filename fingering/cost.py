"""Named cost terms, the profiles of their weights, and where each weight came from.

One unit of cost is the effort of lifting the hand and putting it down on another place of the neck in a quarter of a
second. Every term counts something a guitarist can see; the cost of a passage is the sum of count times weight.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Weight:
    """What one count of a term costs."""

    value: float
    unit: str
    source: str


# term: what it counts in a guitarist's words; one count of it; its weight for a lead line, for country double stops,
# and for the classical guitar
_TABLE: dict[str, tuple[str, str, tuple[float, float, float]]] = {
    "shift": (
        "moving the hand to another position",
        "a shift made in 0.25 s",
        (1.0, 0.8, 1.0),
    ),
    "travel": (
        "how far the hand moves",
        "10 mm of shift made in 0.25 s",
        (0.15, 0.1, 0.15),
    ),
    "hop": (
        "one finger leaping from string to string",
        "a leap made in 0.25 s",
        (0.5, 0.5, 0.5),
    ),
    "guide": (
        "shifts with no finger left on its string to lead them",
        "a finger that slides along its string in 0.25 s, at most the effort of the movement",
        (0.4, 0.4, 0.4),
    ),
    "stretch": (
        "fingers standing beside their own fret",
        "10 mm beside the finger's own fret",
        (0.2, 0.25, 0.25),
    ),
    "spread": (
        "fingers held far apart at once",
        "10 mm beyond 60 mm between the outer fingers",
        (0.15, 0.15, 0.15),
    ),
    "crossing": (
        "a lower finger on the treble side of a higher one at the same fret",
        "a crossed pair",
        (1.0, 1.0, 1.0),
    ),
    "weak finger": (
        "work for the ring and little finger",
        "a note with the little finger; the ring finger counts a third",
        (0.25, 0.15, 0.25),
    ),
    "barre": (
        "one finger across several strings",
        "a barre of two strings with the index; a fifth more for each further string, doubled for other fingers",
        (0.3, 0.3, 0.5),
    ),
    "open string": (
        "an open string: it rings on, and cannot be shaken or bent",
        "an open note",
        (0.5, 0.3, 0.4),
    ),
    "open up the neck": (
        "an open string while the hand is up the neck: the sound jumps",
        "an open note, a fret the hand stands above first position, at most four",
        (0.3, 0.4, 0.1),
    ),
    "low neck": (
        "frets below those the style likes",
        "a fret below the liked ones, a note",
        (0.12, 0.08, 0.0),
    ),
    "high neck": (
        "frets above those the style likes",
        "a fret above the liked ones, a note",
        (0.06, 0.1, 0.08),
    ),
    "string change": (
        "the pick crossing strings",
        "a string crossed beyond the next",
        (0.25, 0.1, 0.02),
    ),
    "string set": (
        "a double stop or chord leaping to other strings than the one before",
        "a change between two chords of as many notes",
        (0.4, 1.2, 0.0),
    ),
    "repeat": (
        "a note played again at once, but with another finger or on another string",
        "a repeated note that changes",
        (0.5, 0.5, 0.5),
    ),
    "cut short": (
        "a ringing note stopped early",
        "half a second of ringing lost",
        (4.0, 6.0, 1.5),
    ),
    "bend": (
        "the push a bend needs, and a finger without support behind it",
        "10 N of push",
        (0.6, 0.5, 1.0),
    ),
    "vibrato": (
        "shaking a string with a weak finger",
        "a note shaken with the little finger",
        (0.5, 0.5, 0.3),
    ),
    "node": (
        "a natural harmonic over a node that gives a soft one",
        "10 dB softer than the octave harmonic of a string plucked alike",
        (2.0, 2.0, 2.0),
    ),
    "sound": (
        "strings the sound speaks against",
        "a factor of e against the likeliest string",
        (1.0, 1.0, 1.0),
    ),
    "shape": (
        "leaving the shapes of the chord or scale, or a chord outside the known shapes",
        "a step no one shape holds, or a chord of three notes or more in none; a quarter inside a less usual shape",
        (0.3, 0.6, 0.3),
    ),
    "octave": (
        "an octave out of its shape: a pick mutes one string between the two, and the shape slides along the neck",
        "an octave that does not leave out one string",
        (1.2, 1.2, 0.6),
    ),
    "fault": ("something no hand can do", "a fault; a note left out is three", (1000.0, 1000.0, 1000.0)),
}

TERMS: Mapping[str, str] = MappingProxyType({term: words for term, (words, _, _) in _TABLE.items()})

_SOURCE = "common practice; value set by ear and hand on licks of our own"
_SOURCE_SCORES = (
    "common practice; value set by hand, then checked on public-domain scores fingered by their editors: of all "
    "weights only the two of open strings (from 0.1 and 0) and that of guide fingers (from 0.3) were raised for them, "
    "and that of octaves was chosen on them among 0.3, 0.6, 0.9 and 1.2"
)
_SOURCE_FAULT = "larger than the honest cost of any passage, so that a fault is the last resort"


@dataclass(frozen=True, slots=True)
class Profile:
    """Weights under a name, and the part of the neck the style likes (frets from the nut)."""

    name: str
    weights: Mapping[str, Weight]
    likes_frets: tuple[int, int, int]  # lowest, highest on plain strings, highest on wound ones: those go dull sooner

    def __getitem__(self, term: str) -> float:
        """Return the weight of one term."""
        return self.weights[term].value

    def with_weights(self, **changes: float) -> Profile:
        """Return a profile with some weights changed; blanks in names become underscores."""
        weights = dict(self.weights)
        for key, value in changes.items():
            term = key.replace("_", " ")
            weights[term] = replace(weights[term], value=value, source="set by the caller")
        return replace(self, weights=MappingProxyType(weights))


def _profile(name: str, column: int, source: str, likes_frets: tuple[int, int, int]) -> Profile:
    weights = {
        term: Weight(values[column], unit, _SOURCE_FAULT if term == "fault" else source)
        for term, (_, unit, values) in _TABLE.items()
    }
    return Profile(name, MappingProxyType(weights), likes_frets)


LEAD_LINE = _profile("lead line", 0, _SOURCE, (2, 12, 9))
COUNTRY_DOUBLE_STOPS = _profile("country double stops", 1, _SOURCE, (3, 10, 8))
CLASSICAL = _profile("classical", 2, _SOURCE_SCORES, (1, 4, 4))

PROFILES: Mapping[str, Profile] = MappingProxyType(
    {profile.name: profile for profile in (LEAD_LINE, COUNTRY_DOUBLE_STOPS, CLASSICAL)}
)


def hurry(since_s: float) -> float:
    """Return how much harder a movement is with ``since_s`` seconds for it: 1 at 0.25 s, less with more time.

    The square root follows the trade-off of speed and accuracy in aimed movements only roughly; limits keep one very
    short or very long note from deciding everything. A choice of ours.
    """
    return min(2.5, max(0.35, (0.25 / max(since_s, 1e-3)) ** 0.5))
