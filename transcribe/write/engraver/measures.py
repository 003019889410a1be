"""Sizes on the sheet, in units of a tenth of a staff space. Common practice unless they say otherwise."""

from __future__ import annotations

STAFF_HEIGHT = 40.0
TAB_SPACE = 15.0  # between two strings: half as wide again as a staff space, so that numbers fit
TAB_HEIGHT = 5 * TAB_SPACE
LINE_THICK = 1.0
BARLINE_THICK = 1.6
FINAL_THICK = 5.0

# Type sizes: units of an em, which is half a point where a staff is 7 mm high; nothing under 6 points but row labels.
FRET_SIZE = 13.0
FRET_DROP = 4.8  # from a string down to the baseline of its number
FRET_AIR = 1.6  # between a number and the string it interrupts
CHORD_SIZE = 18.0
TEMPO_SIZE = 16.5
LABEL_SIZE = 13.0  # bends, spans, degrees
FINGER_SIZE = 12.5
SMALL_SIZE = 12.0  # tone labels, bar numbers
ROW_LABEL_SIZE = 10.0  # what a row under a tab alone tells: it stands under the clef
TUPLET_SIZE = 14.0
NUMERAL_SIZE = 13.0  # positions

BEND_RUN = 11.0  # from the number to the arrow
BEND_TIP = -18.0  # how high the arrow reaches over the tab staff
BEND_STEP = 15.0  # to the next arrow of the same note
BEND_BESIDE = 21.0  # to the arrow of another string bent at once: room for a label
ARROW_LONG, ARROW_WIDE = 7.0, 6.0
STAFF_GAP = 20.0  # least air between what belongs to one staff and the next
STAFF_DISTANCE = 50.0  # from the notation staff to the tab staff when nothing pushes them apart
ROW_GAP = 4.0  # between a row of text and what it stands over or under


def string_y(string: int) -> float:
    """Return where a string's line is on the tab staff; the highest string is the top line."""
    return (string - 1) * TAB_SPACE
