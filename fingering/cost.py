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


# what each term counts, in a guitarist's words
TERMS: Mapping[str, str] = MappingProxyType(
    {
        "shift": "moving the hand to another position",
        "travel": "how far the hand moves",
        "hop": "one finger leaping from string to string",
        "guide": "a finger that stays on its string leads the hand: it takes effort off a shift",
        "stretch": "fingers standing beside their own fret",
        "spread": "fingers held far apart at once",
        "crossing": "a lower finger on the treble side of a higher one at the same fret",
        "weak finger": "work for the ring and little finger",
        "barre": "one finger across several strings",
        "open string": "an open string: it rings on, and cannot be shaken or bent",
        "open up the neck": "an open string while the hand is up the neck: the sound jumps",
        "low neck": "frets below those the style likes",
        "high neck": "frets above those the style likes",
        "string change": "the pick crossing strings",
        "string set": "a double stop or chord leaping to other strings than the one before",
        "repeat": "a note played again at once, but with another finger or on another string",
        "cut short": "a ringing note stopped early",
        "bend": "the push a bend needs, and a finger without support behind it",
        "vibrato": "shaking a string with a weak finger",
        "sound": "strings the sound speaks against",
        "shape": "a chord outside the known chord shapes",
        "fault": "something no hand can do",
    }
)

_TRADE = "common practice, value by ear and hand on licks of our own"
_SCORES = "fitted on public-domain editor-fingered classical scores, then rounded"
_FAULT = "larger than any passage's honest cost, so that a fault is the last resort"


@dataclass(frozen=True, slots=True)
class Profile:
    """Weights under a name, and the part of the neck the style likes (frets from the nut)."""

    name: str
    weights: Mapping[str, Weight]
    likes_frets: tuple[int, int]

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


_UNITS = {
    "shift": "a shift made in 0.25 s",
    "travel": "10 mm of shift made in 0.25 s",
    "hop": "a leap made in 0.25 s",
    "guide": "a finger that slides along its string in 0.25 s, at most the effort of the movement",
    "stretch": "10 mm beside the finger's own fret",
    "spread": "10 mm beyond 60 mm between the outer fingers",
    "crossing": "a crossed pair",
    "weak finger": "a note with the little finger; the ring finger counts a third",
    "barre": "a barre of two strings; a fifth more for each further string",
    "open string": "an open note",
    "open up the neck": "an open note, a fret the hand stands above first position, at most four",
    "low neck": "a fret below the liked ones, a note",
    "high neck": "a fret above the liked ones, a note",
    "string change": "a string crossed beyond the next",
    "string set": "a change between two chords of as many notes",
    "repeat": "a repeated note that changes",
    "cut short": "half a second of ringing lost",
    "bend": "10 N of push",
    "vibrato": "a note shaken with the little finger",
    "sound": "a factor of e against the likeliest string",
    "shape": "a chord of three notes or more",
    "fault": "a fault",
}


def _profile(name: str, source: str, likes_frets: tuple[int, int], values: Mapping[str, float]) -> Profile:
    weights = {
        term: Weight(
            values.get(term, 1000.0 if term == "fault" else 0.0), _UNITS[term], _FAULT if term == "fault" else source
        )
        for term in TERMS
    }
    return Profile(name, MappingProxyType(weights), likes_frets)


LEAD_LINE = _profile(
    "lead line",
    _TRADE,
    (5, 10),
    {
        "shift": 1.0, "travel": 0.15, "hop": 0.5, "guide": 0.4, "stretch": 0.2, "spread": 0.15,
        "crossing": 1.0, "weak finger": 0.25, "barre": 0.3, "open string": 0.5, "open up the neck": 0.3, "low neck": 0.12, "high neck": 0.06,
        "string change": 0.25, "string set": 0.4, "repeat": 0.5, "cut short": 4.0, "bend": 0.6, "vibrato": 0.5, "sound": 1.0, "shape": 0.2,
    },
)  # fmt: skip
COUNTRY_DOUBLE_STOPS = _profile(
    "country double stops",
    _TRADE,
    (3, 10),
    {
        "shift": 0.8, "travel": 0.1, "hop": 0.5, "guide": 0.4, "stretch": 0.25, "spread": 0.15,
        "crossing": 1.0, "weak finger": 0.15, "barre": 0.3, "open string": 0.3, "open up the neck": 0.4, "low neck": 0.08, "high neck": 0.1,
        "string change": 0.1, "string set": 1.2, "repeat": 0.5, "cut short": 6.0, "bend": 0.5, "vibrato": 0.5, "sound": 1.0, "shape": 0.6,
    },
)  # fmt: skip
CLASSICAL = _profile(
    "classical",
    _SCORES,
    (1, 4),
    {
        "shift": 1.0, "travel": 0.15, "hop": 0.5, "guide": 0.4, "stretch": 0.25, "spread": 0.15,
        "crossing": 1.0, "weak finger": 0.25, "barre": 0.5, "open string": 0.3, "open up the neck": 0.1, "low neck": 0.0, "high neck": 0.08,
        "string change": 0.02, "string set": 0.0, "repeat": 0.5, "cut short": 1.5, "bend": 1.0, "vibrato": 0.3, "sound": 1.0, "shape": 0.1,
    },
)  # fmt: skip

PROFILES: Mapping[str, Profile] = MappingProxyType(
    {profile.name: profile for profile in (LEAD_LINE, COUNTRY_DOUBLE_STOPS, CLASSICAL)}
)


def hurry(since_s: float) -> float:
    """Return how much harder a movement is with ``since_s`` seconds for it: 1 at 0.25 s, less with more time.

    The square root follows the trade-off of speed and accuracy in aimed movements only roughly; limits keep one very
    short or very long note from deciding everything. A choice of ours.
    """
    return min(2.5, max(0.35, (0.25 / max(since_s, 1e-3)) ** 0.5))
