"""What ``takesheet positions`` prints: the page for people, the JSON for programs."""

from __future__ import annotations

import json
import shutil
import textwrap

from transcribe.cli.summary import advice_for
from transcribe.document.text import take_to_json
from transcribe.positions import ALTERNATIVES, Positions
from transcribe.reasons import UNIT, effort_of, reasons_for
from transcribe.score.build import build_score
from transcribe.write.side_by_side import Column, side_by_side

NARROWEST_PAGE = 40


def ways_page(found: Positions, title: str) -> str:
    """Return the page for a terminal: ways side by side with reasons, what signs mean, what to take care of."""
    if not found.ways:
        return "this document holds no notes: there is nothing to place\n"
    now = found.stands_now()
    columns = [
        Column(
            f"{number}  {way.where if way.fingering.placements else 'no note can be placed'}"
            + ("  (as the document has it)" if number == now else ""),
            build_score(found.document_with(number), title=title),
            reasons_for(way, found.ways[0], found.document.notes),
        )
        for number, way in enumerate(found.ways, start=1)
    ]
    width = max(NARROWEST_PAGE, shutil.get_terminal_size((100, 24)).columns)
    ways = f"{len(found.ways)} way{'' if len(found.ways) == 1 else 's'}"
    heard = any(take.note.string_weights is not None for take in found.document.notes)
    order = "first as it sounds, then the easiest" if heard and len(found.ways) > 1 else "easiest first"
    heading = textwrap.wrap(f"{title}: {ways}, {order} (profile: {found.profile}; {found.picking})", width)
    closing = [UNIT, *advice_for(way.fingering for way in found.ways)]
    closing += [f"the take: {doubt.why}" for doubt in found.document.doubts if doubt.note is None]
    below = [row for line in closing for row in textwrap.wrap(line, width, subsequent_indent="  ")]
    return "\n".join([*heading, "", side_by_side(columns, width=width) + "\n".join(below)]) + "\n"


def ways_as_json(found: Positions, number: int) -> str:
    """Return the take document played one way, with all ways under one more key."""
    document = found.document_with(number) if found.ways else found.document
    data = {**take_to_json(document), ALTERNATIVES: ways_json(found)}
    return json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False)


def ways_json(found: Positions) -> list[dict[str, object]]:
    """Return all ways for other programs: what each is called, costs and sounds like, and where it puts the notes."""
    return [
        {
            "use": number,
            "where": way.where,
            "sound": way.sound,
            "effort": round(effort_of(way.fingering), 2),
            "reasons": [line.strip() for line in reasons_for(way, found.ways[0], found.document.notes)],
            "placements": [
                {"note": item.id, "string": item.string, "fret": item.fret, "finger": item.finger, "pluck": item.stroke}
                for item in way.fingering.placements
            ],
            "shapes": [
                {"first": span.first_id, "last": span.last_id, "name": span.name, "fret": span.fret}
                for span in way.fingering.shapes
            ],
            "cautions": [{"note": item.id, "why": item.why, "advice": item.advice} for item in way.fingering.cautions],
            "doubts": [{"note": item.id, "why": item.why} for item in way.fingering.doubts],
        }
        for number, way in enumerate(found.ways, start=1)
    ]
