"""Rows of frames: nothing is lost, nothing overlaps or is squeezed, and width that is left over makes rows lower."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from turnout_templates.drawing.bounds import Box
from turnout_templates.sheets.rows import Frame, fewest_pages, frame_boxes

AREA = Box(10.0, 20.0, 210.0, 120.0)
GAP = 3.0
HAIR = 1e-9


def worded(number: int, width: float, drawing: float, words: float) -> Frame:
    """A frame `drawing` mm high under words that take up `words` square mm."""
    return Frame(number, width, lambda given: drawing + words / given)


def plain(number: int, width: float, height: float) -> Frame:
    return worded(number, width, height, 0.0)


def placed(frames: Sequence[Frame]) -> list[list[tuple[Frame, Box]]]:
    return [list(frame_boxes(rows, AREA)) for rows in fewest_pages(frames, AREA, GAP)]


def numbers(pages: Sequence[Sequence[tuple[Frame, Box]]]) -> list[list[int]]:
    return [[frame.number for frame, _ in page] for page in pages]


@st.composite
def several(draw: st.DrawFn) -> list[Frame]:
    sizes = st.tuples(st.floats(5.0, 200.0), st.floats(5.0, 60.0), st.floats(0.0, 200.0))
    return [worded(number, *size) for number, size in enumerate(draw(st.lists(sizes, max_size=12)))]


@given(several())
def test_each_frame_stands_once_and_whole_on_its_page(frames: list[Frame]) -> None:
    pages = placed(frames)
    assert sorted(number for page in numbers(pages) for number in page) == list(range(len(frames)))
    for page in pages:
        for frame, box in page:
            assert AREA.grown(HAIR).holds(box)
            assert box.width >= frame.width - HAIR
            assert box.height >= frame.height(box.width) - HAIR
        for (_, one), (_, other) in combinations(page, 2):
            aside = max(one.left - other.right, other.left - one.right)
            apart = max(one.bottom - other.top, other.bottom - one.top)
            assert max(aside, apart) >= GAP - HAIR


@given(several())
def test_every_row_takes_the_whole_width(frames: list[Frame]) -> None:
    for page in placed(frames):
        for top in {box.top for _, box in page}:
            row = [box for _, box in page if box.top == top]
            assert abs(min(box.left for box in row) - AREA.left) < HAIR
            assert abs(max(box.right for box in row) - AREA.right) < HAIR


def test_width_that_is_left_over_makes_a_row_low_enough() -> None:
    """200 mm of words on 50 mm take 40 mm, on the whole 200 mm only 10: two rows of 38 + 10 mm and a gap fit 100 mm."""
    tall = [worded(number, 50.0, 38.0, 2000.0) for number in range(2)]
    wide = [worded(number, 150.0, 38.0, 2000.0) for number in range(2)]
    assert tall[0].height(50.0) == 78.0
    assert numbers(placed(wide)) == [[0, 1]]
    # Side by side each has (200 - 3) / 2 mm, and 2000 / 98.5 = 20.3 mm of words over its 38 mm.
    ((_, (_, box)),) = placed(tall)
    assert abs(box.height - (38.0 + 2000.0 / 98.5)) < HAIR


def test_frames_are_read_in_their_order_where_another_order_saves_a_page() -> None:
    """Placed as they come they need three pages of 100 mm: 30 + 60, 67, 37. The tallest first: 67 + 30, 60 + 37."""
    frames = [plain(number, 150.0, height) for number, height in enumerate((30.0, 60.0, 67.0, 37.0))]
    assert numbers(placed(frames)) == [[0, 2], [1, 3]]
    frames = [plain(0, 90.0, 30.0), plain(1, 150.0, 35.0), plain(2, 90.0, 35.0)]
    assert numbers(placed(frames)) == [[0, 2, 1]]


def test_what_is_too_large_for_a_page_has_one_of_its_own() -> None:
    frames = [plain(0, 90.0, 40.0), plain(1, 90.0, 130.0), plain(2, 90.0, 40.0)]
    assert numbers(placed(frames)) == [[0, 2], [1]]
    assert placed([]) == []
