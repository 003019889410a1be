"""The picture says what was measured, and no two labels touch."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from transcribe.errors import ScoreError
from transcribe.notes.intonation import measure_bends
from transcribe.notes.note import Bend, Contour, Note
from transcribe.write.bend_panel import BentNote
from transcribe.write.bend_picture import bend_picture
from transcribe.write.fonts import has_sign, text_width
from transcribe.write.raster import png_from_svg

SVG = "{http://www.w3.org/2000/svg}"
HOP_S = 0.01


def bent_note(
    bends: tuple[Bend, ...], *, onset_s: float = 1.0, offset_s: float = 2.5, midi: int = 62, gap: bool = False
) -> BentNote:
    """A note whose curve runs straight between the points of its bends."""
    times = np.arange(onset_s, offset_s, HOP_S)
    at, cents = [onset_s], [0.0]
    for bend in bends:
        at += [bend.start_s, bend.reach_s]
        cents += [cents[-1], bend.reached_cents]
    curve = [float(c) for c in np.interp(times, at, cents)]
    if gap:
        curve[10:20] = [None] * 10  # type: ignore[list-item]
    note = Note("n3", onset_s, offset_s, midi, bends=bends, contour=Contour(onset_s, HOP_S, tuple(curve)))
    return BentNote(note, measure_bends(note, tuning_offset_cents=0.0, tolerance_cents=10.0), "n3 · bar 2, beat 1")


WHOLE_STEP = bent_note((Bend("bend", 1.2, 1.35, 2.4, 200.0, 171.0),))
UP_AND_DOWN = bent_note((Bend("bend", 1.2, 1.35, 1.8, 200.0, 198.0), Bend("release", 1.8, 1.95, 2.4, 0.0, 3.0)))


def parsed(*notes: BentNote) -> ElementTree.Element:
    return ElementTree.fromstring(bend_picture(notes, title="lick.wav: 0 of 1 bend in tune").encode())


def words(root: ElementTree.Element) -> list[str]:
    return [element.text or "" for element in root.iter(f"{SVG}text")]


def boxes(root: ElementTree.Element) -> list[tuple[float, float, float, float, str]]:
    """Left, top, right, bottom of every level line of text, with its words; measured with the font itself."""
    found = []
    for element in root.iter(f"{SVG}text"):
        if element.get("transform"):
            continue
        x, y, size = (float(element.get(name, "0")) for name in ("x", "y", "font-size"))
        width = text_width(element.text or "", size)
        left = x - width * {"end": 1.0, "middle": 0.5}.get(element.get("text-anchor", ""), 0.0)
        found.append((left, y - 0.75 * size, left + width, y + 0.1 * size, element.text or ""))
    return found


def assert_nothing_touches(root: ElementTree.Element) -> None:
    placed = boxes(root)
    width, height = (float(root.get(name, "0")) for name in ("width", "height"))
    for k, (left, top, right, bottom, text) in enumerate(placed):
        assert left >= 0, text
        assert right <= width, text
        assert top >= 0, text
        assert bottom <= height, text
        for other in placed[:k]:
            apart = right <= other[0] or other[2] <= left or bottom <= other[1] or other[3] <= top
            assert apart, f"{text!r} touches {other[4]!r}"


def test_it_tells_target_arrival_and_miss() -> None:
    said = words(parsed(WHOLE_STEP))
    assert "target E4 +200" in said
    assert "reached +171: 29 flat" in said
    assert "starts 1.20 s" in said
    assert "arrives 1.35 s, after 0.15 s" in said
    assert any("did not get there, 29 cents flat (tolerance 10 cents)" in line for line in said)


def test_the_axes_name_notes_cents_and_seconds() -> None:
    said = words(parsed(WHOLE_STEP))
    assert {"D4", "E♭4", "E4", "0", "+100", "+200"} <= set(said)
    assert "seconds from the start of the take" in said
    assert "cents above D4, the fretted note" in said


def test_screen_readers_hear_the_verdicts() -> None:
    root = parsed(UP_AND_DOWN)
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "title description"
    assert root.findtext(f"{SVG}title") == "lick.wav: 0 of 1 bend in tune"
    spoken = root.findtext(f"{SVG}desc") or ""
    assert all(measure.verdict in spoken for measure in UP_AND_DOWN.measures)


def test_the_curve_runs_where_the_pitch_was() -> None:
    """The plot's own scale, read from its tick labels, gives the cents back from the drawn line."""
    root = parsed(WHOLE_STEP)
    ticks = {element.text: float(element.get("y", "0")) - 4 for element in root.iter(f"{SVG}text")}
    cents_a_unit = 200.0 / (ticks["+200"] - ticks["0"])
    path = next(p for p in root.iter(f"{SVG}path") if p.get("clip-path"))
    drawn = [(float(y) - ticks["0"]) * cents_a_unit for _, y in re.findall(r"[ML]([\d.]+) ([\d.]+)", path.get("d", ""))]
    contour = WHOLE_STEP.note.contour
    assert contour is not None
    assert np.allclose(drawn, np.array(contour.cents, dtype=float), atol=0.5)


def test_where_no_pitch_was_read_the_curve_breaks() -> None:
    root = parsed(bent_note((Bend("bend", 1.3, 1.45, 2.4, 200.0, 200.0),), gap=True))
    path = next(p for p in root.iter(f"{SVG}path") if p.get("clip-path"))
    assert path.get("d", "").count("M") == 2


@pytest.mark.parametrize("bent", [WHOLE_STEP, UP_AND_DOWN], ids=["bend", "bend and release"])
def test_no_labels_touch(bent: BentNote) -> None:
    assert_nothing_touches(parsed(bent, bent))


@settings(max_examples=60, deadline=None)
@given(
    moves=st.lists(st.tuples(st.floats(0.03, 0.4), st.floats(0.03, 0.4), st.sampled_from((0, 50, 100, 200, 300)),
                             st.floats(-40, 40)), min_size=1, max_size=5),
    first=st.sampled_from(("bend", "pre-bend")),
    midi=st.integers(40, 86),
)  # fmt: skip
def test_no_labels_touch_whatever_is_bent(moves: list[tuple[float, float, int, float]], first: str, midi: int) -> None:
    bends, now_s, level = [], 1.0, -1
    for k, (rest_s, push_s, target, miss) in enumerate(moves):
        kind = first if k == 0 else "release" if target < level else "bend"
        start_s = 1.0 if kind == "pre-bend" else now_s + rest_s
        reach_s = start_s if kind == "pre-bend" else start_s + push_s
        bends.append(Bend(kind, start_s, reach_s, reach_s + 0.03, float(target), target + miss))  # type: ignore[arg-type]
        now_s, level = reach_s + 0.03, target
    assert_nothing_touches(parsed(bent_note(tuple(bends), offset_s=now_s + 0.2, midi=midi)))


def test_nothing_hangs_on_colour() -> None:
    """Target, pitch and hold differ in line style and width too; start and arrival in shape."""
    root = parsed(WHOLE_STEP)
    assert any(line.get("stroke-dasharray") == "7 4" for line in root.iter(f"{SVG}line"))
    assert any(float(line.get("stroke-width", "1")) == 6 for line in root.iter(f"{SVG}line"))
    assert list(root.iter(f"{SVG}circle"))
    assert list(root.iter(f"{SVG}polygon"))


def test_texts_stand_out_from_the_page() -> None:
    """Contrast of 4.5 to 1 for text on white: WCAG 2.1, success criterion 1.4.3; luminance by its own definition."""

    def luminance(colour: str) -> float:
        channels = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
        return float(np.dot((0.2126, 0.7152, 0.0722), linear))

    for element in parsed(UP_AND_DOWN).iter(f"{SVG}text"):
        assert 1.05 / (luminance(element.get("fill", "")) + 0.05) >= 4.5, element.text


def test_every_sign_is_in_the_font() -> None:
    root = parsed(WHOLE_STEP, bent_note((Bend("bend", 1.2, 1.3, 2.0, 100.0, 60.0),), midi=61))
    assert all(has_sign(sign) for text in words(root) for sign in text)


def test_names_are_escaped() -> None:
    picture = bend_picture([WHOLE_STEP], title='riff <1> & "2"')
    assert ElementTree.fromstring(picture.encode()).findtext(f"{SVG}title") == 'riff <1> & "2"'


def test_a_png_of_it_has_ink_on_a_white_page() -> None:
    png = png_from_svg(bend_picture([WHOLE_STEP], title="lick.wav"), zoom=1.0)
    assert png.startswith(b"\x89PNG\r\n\x1a\n")  # PNG specification, section 5.2
    width, height = (int.from_bytes(png[k : k + 4], "big") for k in (16, 20))
    root = parsed(WHOLE_STEP)
    assert (width, height) == (float(root.get("width", "0")), math.ceil(float(root.get("height", "0"))))


def test_the_png_draws_the_words() -> None:
    """The same picture without its texts makes a different, smaller file: the font was found."""
    svg = bend_picture([WHOLE_STEP], title="lick.wav")
    assert len(png_from_svg(svg, zoom=1.0)) > 1.2 * len(png_from_svg(re.sub(r"<text.*?</text>", "", svg), zoom=1.0))


def test_a_note_without_a_curve_or_a_bend_cannot_be_drawn() -> None:
    with pytest.raises(ScoreError, match="no pitch curve"):
        BentNote(Note("n1", 0.0, 1.0, 60), WHOLE_STEP.measures, "n1")
    with pytest.raises(ScoreError, match="no bend to draw"):
        BentNote(WHOLE_STEP.note, (), "n1")
    with pytest.raises(ScoreError, match="no bend to draw"):
        bend_picture([], title="lick.wav")
