"""Short lead-guitar licks of our own, written where and how we would play them.

Each step is one moment: notes separated by blanks, "string:fret" with marks. ``b2`` bends by two semitones, ``v``
shakes, ``!`` rings on through the steps that follow until ``.`` or the end; ``h``, ``p`` and ``s`` before a note join
it to the note before on that string. ``*n`` makes a step n sixteenths long; an eighth (2) is usual.
"""

from __future__ import annotations

import re

from fingering import Passage, Placement, Pluck

OPEN = (64, 59, 55, 50, 45, 40)

LICKS = {
    # name: (profile, sixteenths a minute / 4 = tempo, steps)
    "box one, bend and answer": ("lead line", 96, "3:7b2*4 | 2:5 | 1:5 | 2:8b2*4 | 2:5 | 3:7 | 3:5 | 4:7v*4"),
    "blue fifth, pulled": ("lead line", 88, "2:8 | p2:5 | 3:8*1 | p3:7*1 | p3:5*1 | 4:7*1 | 3:5 | 3:7b0.5 | 4:7v*6"),
    "twelfth-fret answer": ("lead line", 104, "1:15b2*4 | 1:12 | 2:15 | 2:12 | 3:14b2*4 | 3:12 | 4:14v*4"),
    "slide into the box": ("lead line", 92, "3:5 | s3:7 | 2:5 | 1:5 | 2:8 | p2:5 | 3:7v*4"),
    "slide up to the second box": ("lead line", 92, "2:5 | 2:8 | s2:10 | 1:8 | 1:10b2*4 | 1:8 | 2:10v*4"),
    "hammered climb": ("lead line", 112, "4:5 | h4:7 | 3:5 | h3:7 | 2:5 | h2:8 | 1:5 | h1:8 | 1:8b2*4 | 1:5*4"),
    "major pentatonic, sweet": ("lead line", 84, "2:10 | 2:12 | 1:10 | 1:12v*4 | 1:10 | 2:12 | p2:10 | 3:11*4"),
    "high wail": ("lead line", 76, "1:17b2*4 | 1:17b2*4 | 1:15 | 2:17 | 2:15 | 3:16b1*4 | 3:14v*4"),
    "pedal with pull-offs": ("lead line", 120, "1:12*1 | p1:8*1 | 1:10*1 | p1:8*1 | 2:10*1 | p2:8*1 | 1:8*4"),
    "pre-bend and down the box": ("lead line", 80, "2:8b2*4 | 2:8 | 2:5 | 3:7 | 3:5 | 4:7 | 4:5 | 5:7v*4"),
    "unison bends climbing": ("lead line", 84, "1:12! 2:15b2!*4 | .1:14! 2:17b2!*4 | .1:15! 2:18b2!*4"),
    "oblique bend, sixth below": ("country double stops", 92, "1:10! 2:10! 3:9b2!*8 | .2:10 | 3:9 | 3:7*4"),
    "oblique bend under a held third": ("country double stops", 92, "2:8! 3:7b2!*8 | .2:5! 3:5!*4"),
    "held note, then the bend": ("country double stops", 88, "1:12!*2 | 2:13b2!*6 | .1:10 | 2:10*4"),
    "sixths walking down": ("country double stops", 100, "1:12 3:13 | 1:10 3:11 | 1:8 3:9 | 1:7 3:7 | 1:5 3:6*4"),
    "thirds on two strings": ("country double stops", 96, "2:5 3:5 | h2:6 h3:7 | 2:8 3:9 | 2:10 3:10*4"),
    "ringing triads": ("country double stops", 88, "3:7! | 2:8! | 1:7!*4 | .3:5! | 2:5! | 1:5!*4"),
}  # fmt: skip


def lick(name: str) -> tuple[Passage, list[Placement], str]:
    """Return the passage as pitches alone, the places we would play, and the profile."""
    profile, tempo, steps = LICKS[name]
    sixteenth_s = 60.0 / tempo / 4.0
    plucks, places, last_on, ringing, now_s = [], [], {}, [], 0.0
    for step in steps.split("|"):
        length = float(re.search(r"\*(\d+)", step).group(1)) if "*" in step else 2.0
        words = re.sub(r"\*\d+", "", step).split()
        if words[0].startswith("."):
            ringing, words[0] = [], words[0][1:]
        end_s = now_s + length * sixteenth_s
        for index in ringing:
            plucks[index]["end_s"] = end_s
        fresh = []
        for word in words:
            join, string, fret, marks = re.fullmatch(r"([hps]?)(\d):(\d+)(.*)", word).groups()
            string, fret = int(string), int(fret)
            pluck = {"id": f"n{len(plucks)}", "onset_s": now_s, "end_s": end_s, "midi": OPEN[string - 1] + fret}
            if bend := re.search(r"b([\d.]+)", marks):
                pluck["bend_semitones"] = float(bend.group(1))
            if join:
                pluck["join"] = {"h": "hammer-on", "p": "pull-off", "s": "slide"}[join]
                pluck["joined_to"] = last_on[string]
            pluck["vibrato"] = "v" in marks
            if "!" in marks:
                ringing.append(len(plucks))
            plucks.append(pluck)
            places.append(Placement(pluck["id"], string, fret, None))
            fresh.append((string, pluck["id"]))
        last_on.update(fresh)
        now_s = end_s
    return Passage(tuple(Pluck(**pluck) for pluck in plucks)), places, profile
