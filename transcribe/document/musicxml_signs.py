"""What the signs at a MusicXML note say: place, fingers, strokes, mutes, harmonics, bends, vibrato, as JSON values.

Our own files also tell how each note was played (``play``); that is believed before what the signs leave open.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lxml.etree import _Element

PLUCKS = ("p", "i", "m", "a")
JOINED = ("hammer-on", "pull-off")


def place_of_note(element: _Element) -> tuple[int, int] | None:
    """Return (string, fret) of a tab head, or None."""
    string, fret = (_whole(element.findtext(f"notations/technical/{name}")) for name in ("string", "fret"))
    return None if string is None or fret is None or string < 1 or fret < 0 else (string, fret)


def fingers_of_note(element: _Element) -> dict[str, Any]:
    """Return finger (0 to 4) and pluck, as far as the note tells them."""
    told: dict[str, Any] = {}
    finger = _whole(element.findtext("notations/technical/fingering"))
    if finger is not None and 0 <= finger <= 4:
        told["finger"] = finger
    pluck = (element.findtext("notations/technical/pluck") or "").strip().lower()
    if pluck in PLUCKS:
        told["pluck"] = pluck
    for name, stroke in (("down-bow", "down"), ("up-bow", "up")):
        if any(each.find(f"notations/technical/{name}") is not None for each in _struck_with(element)):
            told["pluck"] = stroke
    return told


def _struck_with(element: _Element) -> list[_Element]:
    """Return a note and those of its chord before it: a stroke told at one of them is that of all."""
    found = [element]
    while found[-1].find("chord") is not None:
        before = found[-1].getprevious()
        while before is not None and before.tag != "note":
            before = before.getprevious()
        if before is None:
            break
        found.append(before)
    return found[::-1]


def signs_of_note(element: _Element) -> dict[str, Any]:
    """Return attack, mute, harmonic, let ring, vibrato and slides from or to no fret."""
    told: dict[str, Any] = {}
    for kind in JOINED:
        if any(sign.get("type") == "stop" for sign in element.iterfind(f"notations/technical/{kind}")):
            told["attack"] = kind
    if (element.findtext("notehead") or "").strip() == "x":
        told["mute"] = "dead"
    elif element.findtext("play/mute") == "palm":
        told["mute"] = "palm"
    harmonic = element.find("notations/technical/harmonic")
    if harmonic is not None:
        told["harmonic"] = "artificial" if harmonic.find("artificial") is not None else "natural"
    if any(sign.get("type") == "let-ring" for sign in element.iterfind("notations/tied")):
        told["let_ring"] = True
    if any(sign.get("type") == "start" for sign in element.iterfind("notations/ornaments/wavy-line")):
        told["vibrato"] = {}
    slides = {"scoop": ("in", 1), "plop": ("in", -1), "doit": ("out", 1), "falloff": ("out", -1)}
    for name, (kind, sign) in slides.items():
        if element.find(f"notations/articulations/{name}") is not None:
            told["slide"] = {"kind": kind, "cents": 200.0 * sign}
    degree = element.find("lyric[@name='degree']/text")
    if degree is not None and degree.text:
        told["degree"] = degree.text
    tone = element.find("notations/other-notation[@print-object='no']")
    if tone is not None and tone.text:
        told["tone"] = tone.text
    return told


def bends_of_note(element: _Element, onset_s: float, head_s: float) -> list[dict[str, Any]]:
    """Return the bends of a tab head whose first sign lasts ``head_s`` seconds.

    Each says the step from where the string was, releases below 0 (MusicXML 4.0, bend-alter); files that write the
    interval of a release above 0, or as 0, are read as let down by it, or to the fret.
    """
    bends: list[dict[str, Any]] = []
    level_cents = 0.0
    for sign in element.iterfind("notations/technical/bend"):
        step_cents = 100.0 * (_decimal(sign.findtext("bend-alter")) or 0.0)
        if sign.find("pre-bend") is not None:
            kind, level_cents = "pre-bend", abs(step_cents)
        elif sign.find("release") is not None or step_cents < 0:
            if level_cents == 0 and step_cents > 0:  # one sign for a bend and its release
                bends.append({"kind": "bend", "target_cents": step_cents})
                level_cents = step_cents
            kind, level_cents = "release", 0.0 if step_cents == 0 else max(0.0, level_cents - abs(step_cents))
        else:
            kind, level_cents = "bend", level_cents + step_cents
        bend: dict[str, Any] = {"kind": kind, "target_cents": level_cents}
        first, last = _decimal(sign.get("first-beat")), _decimal(sign.get("last-beat"))
        if first is not None and last is not None and 0 <= first <= last <= 100:
            bend["start_s"] = onset_s + first / 100.0 * head_s
            bend["reach_s"] = onset_s + last / 100.0 * head_s
        bends.append(bend)
    return bends


def facts_of_note(element: _Element) -> dict[str, str]:
    """Return what our own files tell of how the note was played, by the name of each fact."""
    return {fact.get("type", ""): (fact.text or "").strip() for fact in element.iterfind("play/other-play")}


def played_values(facts: dict[str, str]) -> dict[str, Any]:
    """Return played facts as values of the take format; what cannot be read is left out."""
    told: dict[str, Any] = {}
    for name, key in (("cents", "cents"), ("level db", "level_db"), ("confidence", "confidence")):
        value = _decimal(facts.get(name))
        if value is not None:
            told[key] = value
    if facts.get("attack") in ("picked", "hammer-on", "pull-off", "slide", "unknown"):
        told["attack"] = facts["attack"]
    if (position := _whole(facts.get("position"))) is not None:
        told["position"] = position
    if facts.get("degree of the chord"):
        told["chord_degree"] = facts["degree of the chord"]
    vibrato = numbers(facts.get("vibrato", "").replace("Hz", "").replace("cents", ""))
    if len(vibrato) == 2 and min(vibrato) > 0:
        told["vibrato"] = {"rate_hz": vibrato[0], "extent_cents": vibrato[1]}
    return told


def numbers(text: str) -> list[float]:
    """Return the numbers of a text, or none when a word of it is no number."""
    found = [_decimal(word) for word in text.split()]
    return [number for number in found if number is not None] if None not in found else []


def _whole(text: str | None) -> int | None:
    text = (text or "").strip()
    return int(text) if text.isascii() and text.isdigit() and len(text) < 4 else None


def _decimal(text: str | None) -> float | None:
    try:
        number = float(text or "")
    except ValueError:
        return None
    return number if -1e6 < number < 1e6 else None
