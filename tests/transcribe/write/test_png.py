"""A page as a picture: size, background, and words that are really drawn."""

import struct

from tests.golden.licks import doubted
from tests.sheet_systems import signs, systems
from transcribe.score.build import build_score
from transcribe.write.png import page_png
from transcribe.write.sheet import compose
from transcribe.write.sheet_options import SheetOptions


def picture(**options):
    made = compose(build_score(doubted(), title="Lamp room"), systems(2), signs(), SheetOptions(**options))
    return page_png(made, made.pages[0], 1)


def test_a_page_of_a4_is_1654_by_2339_dots():
    """210 by 297 mm at 200 dots an inch."""
    width, height = struct.unpack(">II", picture()[16:24])
    assert (abs(width - 1654), abs(height - 2339)) <= (1, 1)


def test_a_dark_page_is_another_picture_and_so_is_one_without_words():
    light, dark, bare = picture(), picture(theme="dark"), picture(show=frozenset())
    assert len({light, dark, bare}) == 3
    assert len(light) > len(bare)
