"""Print how good and how fast the fingering is. Not a test: run ``python -m tests.benchmark_fingering --truth PATH``.

PATH is a JSON file of scores fingered by their editors: ``{"pieces": [{"id", "path", "tuning_midi_string1to6",
"polyphony", "notes": [{"onset_q", "duration_q", "midi", "string", "fret", "finger", "string_source", "problem"}]}]}``.
Notes count when ``string_source`` is "explicit", "finger0_open" or "position+finger".

Protocol: pitches and times alone go in, 90 quarters a minute, 20 frets of a 650 mm scale. Same string; hand position
(fret - finger + 1) within one; same finger among 1 to 4. An event is unplayable when a string is struck twice or the
fretted notes struck together span more than four frets; notes left out are counted apart. Notes of one pitch that start
together count once.
"""

from __future__ import annotations

import argparse
import json
import random
import time
import tracemalloc
from dataclasses import replace
from itertools import product
from pathlib import Path

from fingering import PROFILES, Fretboard, Passage, Placement, Pluck, agreement, alternatives, solve
from fingering.agreement import NOTHING, Agreement, total_agreement
from fingering.moments import moments_of
from fingering.paths import search
from fixtures.licks import LICKS as FERRY
from tests.ferry_licks import ferry_lick
from tests.fingering_by_hand import every_cost
from tests.fingering_checker import faults
from tests.lead_licks import LICKS, lick

QUARTER_S = 60.0 / 90.0
LABELLED = {"explicit", "finger0_open", "position+finger"}
CLASSICAL = PROFILES["classical"]
# the classical weights as they stood before the first look at any fingered score
FIRST_GUESS = CLASSICAL.with_weights(open_string=0.1, open_up_the_neck=0.0, guide=0.0, repeat=0.0)
# per cent same string that must be reached: on parts of one line, on licks of our own
GOAL = Agreement(75, 100, 65, 100, 50, 100)
SOLO_GOAL, LICKS_GOAL = 72.0, 90.0


def read_piece(piece):
    """Return the passage, the neck and the editor's placements of one part."""
    notes = [
        (index, note) for index, note in enumerate(piece["notes"]) if not note.get("problem") and note["duration_q"] > 0
    ]
    notes.sort(key=lambda pair: (pair[1]["onset_q"], -pair[1]["midi"], pair[1].get("string_source") not in LABELLED))
    # two voices that meet on one pitch are one note to the hand
    notes = [
        pair
        for at, pair in enumerate(notes)
        if not at or (pair[1]["onset_q"], pair[1]["midi"]) != (notes[at - 1][1]["onset_q"], notes[at - 1][1]["midi"])
    ]
    plucks = tuple(
        Pluck(
            str(index),
            note["onset_q"] * QUARTER_S,
            (note["onset_q"] + note["duration_q"]) * QUARTER_S,
            note["midi"],
        )
        for index, note in notes
    )
    editor = {
        str(index): Placement(str(index), note["string"], note["fret"], note.get("finger"))
        for index, note in notes
        if note.get("string_source") in LABELLED
    }
    neck = Fretboard(tuple(piece["tuning_midi_string1to6"]), frets=20, scale_length_mm=650.0)
    return Passage(plucks), neck, editor


def unplayable(passage, fingering) -> int:
    """Return how many events strike a string twice or span more than four frets."""
    events: dict[float, list[Placement]] = {}
    for pluck in passage.plucks:
        if place := fingering.placement(pluck.id):
            events.setdefault(pluck.onset_s, []).append(place)
    bad = 0
    for places in events.values():
        frets = [place.fret for place in places if place.fret > 0]
        twice = len({place.string for place in places}) < len(places)
        bad += twice or (bool(frets) and max(frets) - min(frets) > 4)
    return bad


def lowest_fret(passage, neck):
    """Return every note on its lowest fret, finger by the first position: the plainest baseline."""
    found = {}
    for pluck in passage.plucks:
        if places := neck.places(pluck.midi):
            place = min(places, key=lambda p: p.fret)
            found[pluck.id] = Placement(pluck.id, place.string, place.fret, min(4, place.fret))
    return found


def score(pieces, profile):
    """Return one agreement a part, unplayable events, and notes left out."""
    parts, bad, left_out = [], 0, 0
    for passage, neck, editor in pieces:
        fingering = solve(passage, neck, profile=profile)
        parts.append(agreement(fingering, editor))
        bad += unplayable(passage, fingering)
        left_out += len(passage.plucks) - len(fingering.placements)
    return parts, bad, left_out


def row(name: str, total: Agreement, *more: str) -> None:
    """Print one line of the table."""
    string, position, finger = (100 * share for share in total.shares)
    print(f"{name:44s} {string:5.1f} {position:5.1f} {finger:5.1f}  {' '.join(more)}")


def report_truth(path: str) -> None:
    """Print the agreement with editors, a baseline, and the part-wise cross-validation."""
    with open(path, encoding="utf-8") as file:
        raw = json.load(file)["pieces"]
    pieces = [read_piece(piece) for piece in raw]
    solo = [index for index, piece in enumerate(raw) if piece["polyphony"] < 0.05]
    print(f"\n{len(pieces)} parts; agreement in per cent: same string, hand position within 1, finger 1-4")
    plain = NOTHING
    for passage, neck, editor in pieces:
        found = solve(Passage(()), neck)
        plain += agreement(replace(found, by_id=lowest_fret(passage, neck)), editor)
    row("goal of the classical profile", GOAL, f"solo lines {SOLO_GOAL}")
    row("lowest fret", plain)
    for name, profile in (
        ("untuned: four weights as before fitting", FIRST_GUESS),
        ("tuned, but steps out of shape cost nothing", CLASSICAL.with_weights(shape=0.0)),
        ("tuned: classical profile", CLASSICAL),
    ):
        parts, bad, left_out = score(pieces, profile)
        row(name, total_agreement(parts), f"unplayable events {bad}, notes left out {left_out}")
        row("  solo lines alone", total_agreement([parts[i] for i in solo]))
        means = [100 * sum(part.shares[k] for part in parts) / len(parts) for k in range(3)]
        print(f"{'  mean of the parts':44s} {means[0]:5.1f} {means[1]:5.1f} {means[2]:5.1f}")
    cross_validate(raw, pieces)


def cross_validate(raw, pieces) -> None:
    """Print the scores when each work is judged by weights chosen on the other works only."""
    grid = list(product((0.1, 0.3, 0.5, 0.7), (0.0, 0.1, 0.2)))
    runs = {
        pair: score(pieces, CLASSICAL.with_weights(open_string=pair[0], open_up_the_neck=pair[1]))[0] for pair in grid
    }
    works = sorted({piece["path"] for piece in raw})
    total, chosen = NOTHING, []
    for work in works:
        mine = [index for index, piece in enumerate(raw) if piece["path"] == work]
        others = [index for index in range(len(raw)) if index not in mine]
        best = max(grid, key=lambda pair: sum(total_agreement([runs[pair][i] for i in others]).shares))
        chosen.append(best)
        total += total_agreement([runs[best][i] for i in mine])
    row(
        f"  open-string weights chosen on {len(works) - 1} other works",
        total,
        f"chosen {sorted(set(chosen))}",
    )


def report_licks() -> None:
    """Print how many notes of our own lead licks lie on the string we would play them on."""
    same = count = wrong = 0
    for name in LICKS:
        passage, places, profile = lick(name)
        fingering = solve(passage, profile=profile)
        found = agreement(fingering, {place.id: place for place in places})
        same, count = same + found.string, count + found.string_of
        wrong += len(fingering.doubts) + len(faults(passage, Fretboard(), fingering))
    print(f"\nlead licks of our own: same string {100 * same / count:.1f} % of {count} notes, faults {wrong}")
    same = count = fingers = wrong = 0
    for name in FERRY:
        passage, places, neck = ferry_lick(name)
        fingering = solve(passage, neck)
        found = agreement(fingering, {place.id: place for place in places})
        same, count = same + found.string, count + found.string_of
        fingers += sum(fingering.by_id[place.id].finger == place.finger for place in places)
        wrong += len(fingering.doubts) + len(faults(passage, neck, fingering))
    print(
        f"shipped licks: same string {100 * same / count:.1f} % of {count} notes, "
        f"same finger {100 * fingers / count:.1f} %, faults {wrong}; goal {LICKS_GOAL:.0f} % same string"
    )


def report_optimal() -> None:
    """Print on how many random passages the k cheapest equal those found by walking every way."""
    chance = random.Random(5)
    neck = Fretboard(open_midi=(64, 59, 55), frets=4)
    tried = equal = 0
    while tried < 60:
        plucks = []
        for at in range(chance.randint(1, 3)):
            for midi in sorted(chance.sample(range(55, 69), chance.randint(1, 2)), reverse=True):
                plucks.append(Pluck(f"n{len(plucks)}", at * 0.25, at * 0.25 + chance.choice([0.2, 0.6]), midi))
        passage, profile = Passage(tuple(plucks)), PROFILES[chance.choice(sorted(PROFILES))]
        expected = every_cost(passage, neck, profile)
        if expected is None:
            continue
        ways = search(moments_of(passage), passage.plucks, neck, profile, k=5).ways
        tried += 1
        equal += all(abs(way.cost - cost) < 1e-3 for way, cost in zip(ways, expected, strict=False)) and len(
            ways
        ) == min(5, len(expected))
    print(f"\noptimal, 5 best included: {equal} of {tried} random passages equal to walking every way")


def busy_passage(notes: int) -> Passage:
    """Return lines, double stops and chords of up to six notes, some ringing into the next."""
    chance = random.Random(1)
    shapes = [(None, 3, 2, 0, 1, 0), (None, 0, 2, 2, 2, 0), (3, 2, 0, 0, 0, 3), (0, 2, 2, 1, 0, 0)]
    opens, plucks, at = (40, 45, 50, 55, 59, 64), [], 0
    while len(plucks) < notes:
        kind = chance.random()
        if kind < 0.35:
            up = chance.randint(0, 9)
            midis = [o + f + up for o, f in zip(opens, chance.choice(shapes), strict=True) if f is not None]
        elif kind < 0.6:
            string, fret = chance.randint(1, 5), chance.randint(1, 12)
            midis = [opens[string] + fret, opens[string - 1] + fret + chance.randint(-1, 2)]
        else:
            midis = [chance.randint(45, 80)]
        end_s = (at + chance.choice([1, 1, 3])) * 0.25
        for midi in sorted(set(midis), reverse=True):
            plucks.append(Pluck(f"n{len(plucks)}", at * 0.25, end_s, midi))
        at += 1
    return Passage(tuple(plucks[:notes]))


def ringing_passage(notes: int) -> Passage:
    """Return finger-picked chords, a note every 0.15 s that rings for one second."""
    chords = ((45, 52, 57, 60), (43, 50, 55, 59), (41, 48, 53, 57), (40, 47, 52, 56))  # Am G F E, low to high
    picks = (0, 2, 1, 3, 2, 1, 3, 2)
    midis = [chords[n // len(picks) % len(chords)][picks[n % len(picks)]] for n in range(notes)]
    return Passage(tuple(Pluck(f"n{n}", 0.15 * n, 0.15 * n + 1.0, midi) for n, midi in enumerate(midis)))


def report_speed() -> None:
    """Print processor times and memory; the first solve works out every chord afresh."""
    print()
    passage = ringing_passage(128)
    started = time.process_time()
    solve(passage)
    print(f"{len(passage.plucks)} finger-picked notes that ring for a second: {time.process_time() - started:.2f} s")
    for notes in (500, 1000, 2000):
        passage = busy_passage(notes)
        started = time.process_time()
        solve(passage)
        one_s = time.process_time() - started
        started = time.process_time()
        solve(passage)
        again_s = time.process_time() - started
        started = time.process_time()
        alternatives(passage, count=4)
        four_s = time.process_time() - started
        tracemalloc.start()
        solve(passage)
        peak_mb = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
        print(
            f"{notes} notes with chords up to 6: {one_s:.2f} s, again {again_s:.2f} s, "
            f"4 alternatives {four_s:.2f} s ({four_s / again_s:.1f} x), peak {peak_mb:.0f} MB"
        )


def main() -> None:
    """Print the whole table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--truth", help="editor-fingered scores as JSON; left out, that part is not measured")
    choices = parser.parse_args()
    if choices.truth and not Path(choices.truth).is_file():
        parser.error(f"--truth names one JSON file; {choices.truth} is none")
    report_speed()
    report_optimal()
    report_licks()
    if choices.truth:
        report_truth(choices.truth)


if __name__ == "__main__":
    main()
