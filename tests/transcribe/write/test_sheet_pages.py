"""Where pages break: nothing over the edge, nothing split that belongs together."""

from hypothesis import given
from hypothesis import strategies as st

from transcribe.write.sheet_blocks import Block, kept_together, words_blocks
from transcribe.write.sheet_pages import in_pages, stacked

ROOM, LATER = 700.0, 676.0

blocks = st.builds(
    Block,
    body=st.just(""),
    height=st.floats(5, 160),
    kind=st.sampled_from(("words", "system", "heading", "sign")),
    gap=st.floats(0, 25),
    stays_with_next=st.booleans(),
)


def sizes(pages):
    return [len(page) for page in pages]


@given(st.lists(blocks, max_size=40))
def test_every_block_stands_once_in_order_inside_its_page(found):
    pages = in_pages(found, ROOM, LATER)
    assert [item.block for page in pages for item in page] == found
    for number, page in enumerate(pages):
        bottom = 0.0
        for item in page:
            assert item.y >= bottom - 1e-6
            bottom = item.y + item.block.height
        assert bottom <= (LATER if number else ROOM) + 1e-6


def test_no_blocks_need_no_page_but_one_block_needs_one():
    assert in_pages([], ROOM, LATER) == []
    assert sizes(in_pages([Block("", 20)], ROOM, LATER)) == [1]


def test_a_heading_goes_over_with_what_it_heads():
    found = [Block("", 330, "system"), Block("", 330, "system"), Block("", 20, "heading", stays_with_next=True),
             Block("", 60)]  # fmt: skip
    assert sizes(in_pages(found, ROOM, LATER)) == [2, 2]


def test_the_last_page_never_holds_one_system_alone_when_it_can_hold_two():
    found = [Block("", 150, "system", gap=20) for _ in range(9)]  # four fit on a page
    assert sizes(in_pages(found, ROOM, LATER)) == [4, 3, 2]


def test_no_line_of_a_paragraph_stands_alone_on_a_page():
    paragraph = words_blocks("word " * 200, 100.0, size=10, fill="#000000")
    for fill in range(600, 700, 7):
        pages = in_pages([Block("", fill, "system"), *paragraph], ROOM, LATER)
        lines = [len(page) - (number == 0) for number, page in enumerate(pages)]
        assert 1 not in lines


def test_three_lines_kept_two_and_two_stay_together():
    kept = kept_together([Block("", 10)] * 3, least=2)
    assert [block.stays_with_next for block in kept] == [True, True, False]
    assert [block.stays_with_next for block in kept_together([Block("", 10)] * 5, least=2)] == [
        True, False, False, True, False,
    ]  # fmt: skip


def test_spare_room_is_shared_among_systems_but_not_on_the_last_page():
    found = [Block("", 150, "system", gap=20) for _ in range(6)]
    first, last = in_pages(found, ROOM, LATER)
    gap = [one.y - other.y for one, other in zip(last[1:], last, strict=False)]
    assert gap == [170.0] * len(gap)
    wide = [one.y - other.y for one, other in zip(first[1:], first, strict=False)]
    assert all(step > 170.0 for step in wide)
    assert max(wide) - min(wide) < 1e-6


def test_stacked_leaves_out_the_white_above_the_first():
    assert stacked([Block("", 10, gap=5), Block("", 20, gap=7)]) == 37
