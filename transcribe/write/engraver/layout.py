"""Where bars and slots go: what reaches how far, which bars share a line, and the frame of each line."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from transcribe.write.beams import FLAGS
from transcribe.write.engraver.bends import bend_label, bend_room, pre_bend_aside, released_words
from transcribe.write.engraver.breaking import NEARLY_FULL, break_lines
from transcribe.write.engraver.canvas import Words
from transcribe.write.engraver.frame import Frame
from transcribe.write.engraver.links import HeadAt
from transcribe.write.engraver.measures import BEND_BESIDE
from transcribe.write.engraver.notation import finger_reach
from transcribe.write.engraver.notation_bends import bend_reach
from transcribe.write.engraver.plan import BarPlan, Cell, Slot
from transcribe.write.engraver.rows import AIR, RowName, RowText
from transcribe.write.engraver.sheet import Sheet
from transcribe.write.engraver.spacing import BarSpace, Reach, bar_space, force_for
from transcribe.write.engraver.tab import RING_AIR, fret_words
from transcribe.write.engraver.tab_marks import SLIDE_RUN, WAVE_LEAST

PADS = {"notation": 3.5, "tab": 4.0}
SLIDE_ROOM = 11.0  # least length of a slide's line between two heads, with its air
FLAG_REACH = 12.5
AFTER_CLEF = 6.0
ALONE_FORCE = 1.5  # a short line that stands alone is spaced widely; one after others as the line before it
Rows = Mapping[RowName, tuple[RowText, ...]]


def prefix_width(sheet: Sheet, *, is_first: bool) -> float:
    """Return the room of clef, key signature and, on the first line, meter."""
    return sum(width + AFTER_CLEF for _, width in prefix_signs(sheet, is_first=is_first)) + 2.0


def prefix_signs(sheet: Sheet, *, is_first: bool) -> list[tuple[str, float]]:
    """Return the signs that open a line with their widths, from left to right."""
    names = ["clef" if sheet.has_notation else "tab clef"]
    if sheet.has_notation and "key" in sheet.art.signs:
        names.append("key")
    if is_first:
        names.append("time")
    shapes = {**sheet.art.signs, "tab clef": sheet.art.glyphs["tab clef"]}
    return [(name, max(s.right for s in shapes[name]) - min(s.left for s in shapes[name])) for name in names]


def lay_out(sheet: Sheet, rows: Rows) -> tuple[Frame, ...]:
    """Return one frame for each line of music."""
    spaces = [_space(plan, sheet, rows) for plan in sheet.plans]
    prefixes = prefix_width(sheet, is_first=True), prefix_width(sheet, is_first=False)
    width = sheet.options.width
    lines = break_lines(spaces, width - prefixes[0], width - prefixes[1])
    frames: list[Frame] = []
    force = 1.0
    for start, end in lines:
        left = prefixes[0] if start == 0 else prefixes[1]
        room = width - left
        bars = spaces[start:end]
        natural = sum(bar.natural for bar in bars)
        is_last = end == len(spaces)
        full = force_for(bars, room)
        ragged = is_last and natural < NEARLY_FULL * room
        force = min(full, max(1.0, force) if frames else ALONE_FORCE) if ragged else full
        frames.append(_frame(sheet, spaces, start, end, left, force))
    return tuple(frames)


def _frame(sheet: Sheet, spaces: list[BarSpace], start: int, end: int, left: float, force: float) -> Frame:
    slot_x: dict[int, float] = {}
    edges = [left]
    for place in range(start, end):
        x = edges[-1]
        gaps = spaces[place].gaps(force)
        for slot, gap in zip(sheet.plans[place].slots, gaps, strict=False):
            x += gap
            slot_x[slot.number] = x
        edges.append(x + gaps[-1])
    return Frame(sheet.plans[start:end], start, slot_x, tuple(edges), start == 0, end == len(spaces))


def _space(plan: BarPlan, sheet: Sheet, rows: Rows) -> BarSpace:
    nodes = {slot.number: place + 1 for place, slot in enumerate(plan.slots)}
    reaches: list[Reach] = []
    for slot in plan.slots:
        node = nodes[slot.number]
        if sheet.has_notation:
            reaches += _notation_reach(slot, node, sheet)
        if sheet.has_tab:
            reaches += _tab_reach(slot, node, sheet)
    for name, texts in rows.items():
        for text in texts:
            if text.slot.number in nodes:
                reaches.append(Reach(name, nodes[text.slot.number], *text.reach))
    pads: dict[str, float] = {**PADS, **{str(name): AIR for name in rows}}
    return bar_space([slot.length for slot in plan.slots], reaches, pads)


def _notation_reach(slot: Slot, node: int, sheet: Sheet) -> Iterator[Reach]:
    cells = [cell for cell in slot.cells if not cell.fills_bar]
    if not cells:
        return
    left = right = 0.0
    for cell in cells:
        art = sheet.art.cells[slot.number, cell.voice]
        left = max(left, art.left, finger_reach(cell, art) if sheet.shows("fingers") else 0.0)
        right = max(right, art.right)
        if cell.heads and cell.group is None and cell.event.value.type in FLAGS:
            right = max(right, art.stem_x + FLAG_REACH)
    bent_left, bent_right = bend_reach(slot, sheet)
    left, right = max(left, bent_left), max(right, bent_right)
    if not sheet.has_tab and any(head.note.take.id in sheet.doubted for cell in cells for head in cell.heads):
        right += RING_AIR
    before, after = _slide_room(slot, sheet)
    yield Reach("notation", node, left + before, right + after)


def _slide_room(slot: Slot, sheet: Sheet) -> tuple[float, float]:
    """Room that slides and slurs ask for before and after a slot's heads."""
    before = after = 0.0
    for cell in slot.cells:
        for head in cell.heads:
            slide = head.note.take.note.slide
            if slide is not None and slide.kind == "in":
                before = SLIDE_RUN + 3.0
            elif slide is not None and slide.kind == "out":
                after = max(after, SLIDE_RUN + 3.0)
            elif slide is not None:
                after = max(after, SLIDE_ROOM)
    targets = {join.target.slot.number for join in sheet.links.joins if join.target.take.note.attack == "slide"}
    if slot.number in targets:
        before = max(before, SLIDE_ROOM - 4.0)
    return before, after


def _tab_reach(slot: Slot, node: int, sheet: Sheet) -> Iterator[Reach]:
    left = right = 0.0
    seen = False
    bent = 0
    for cell in slot.cells:
        for index, head in enumerate(cell.heads):
            words = fret_words(HeadAt(slot, cell, head, index), ties=not sheet.has_notation)
            if words is None:
                continue
            seen = True
            own_left, own_right = _number_reach(HeadAt(slot, cell, head, index), words, sheet)
            bent += bool(head.note.take.note.bends)
            left, right = max(left, own_left), max(right, own_right)
        if not sheet.has_notation:
            seen, left, right = _rhythm_reach(cell, seen, left, right)
    if seen:
        before, after = _slide_room(slot, sheet)
        yield Reach("tab", node, left + before, right + after + max(0, bent - 1) * BEND_BESIDE)


def _number_reach(head: HeadAt, words: Words, sheet: Sheet) -> tuple[float, float]:
    half = words.width / 2
    take = head.take
    ring = RING_AIR if take.id in sheet.doubted else 0.0
    if take.placement is None:
        return half + ring, half + ring
    if head.head.note.tied_from:
        let_down = any(bent.bend.kind == "release" for bent in head.head.note.bent)
        return half + ring, half + ring + (released_words(take.placement.fret).width + 10.0 if let_down else 0.0)
    pre_bent = bool(take.note.bends) and take.note.bends[0].kind == "pre-bend"
    aside = pre_bend_aside(head, half, sheet) if pre_bent else 0.0
    right = max(half + ring, bend_room(take.note.bends, words, take.placement.fret, aside))
    if take.note.vibrato is not None:
        right = right + WAVE_LEAST + 4.0 if take.note.bends else max(right, WAVE_LEAST + 4.0)
    left = half + ring
    if pre_bent:
        left = max(left, bend_label(take.note.bends[0].target_cents).width / 2 - aside)
    return left, right


def _rhythm_reach(cell: Cell, seen: bool, left: float, right: float) -> tuple[bool, float, float]:
    """Room of stems, flags, dots and rests in a tab that carries the rhythm."""
    if cell.fills_bar:
        return seen, left, right
    flag = FLAG_REACH if cell.heads and cell.group is None and cell.event.value.type in FLAGS else 3.0
    rest = 7.0 if cell.event.is_rest else 3.0
    dots = 7.0 * cell.event.value.dots
    return True, max(left, rest), max(right, rest + dots, flag)
