"""The small table reader against a full font library that reads the same file."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfbase.ttfonts import TTFont

from turnout_templates.drawing.text_metrics import font_path, has_glyph, text_extent, text_width

FACES = {bold: TTFont(f"oracle{bold}", str(font_path(bold=bold))) for bold in (False, True)}
LETTERS = st.text(st.characters(min_codepoint=32, max_codepoint=0x2300, exclude_categories=["C", "Z"]), max_size=20)


@given(LETTERS, st.booleans(), st.floats(0.5, 20))
def test_widths_agree_with_the_font_library(text: str, bold: bool, size: float) -> None:
    known = "".join(letter for letter in text if ord(letter) in FACES[bold].face.charToGlyph)
    # That library rounds advances to a thousandth of the size.
    assert text_width(known, size, bold=bold) == pytest.approx(
        FACES[bold].stringWidth(known, size), abs=size * (0.001 * len(known) + 1e-9)
    )


@given(LETTERS)
def test_the_same_characters_have_glyphs(text: str) -> None:
    for letter in text:
        assert has_glyph(letter) == (ord(letter) in FACES[False].face.charToGlyph)


@pytest.mark.parametrize("letter", "′″°½¼¾×±≤≥→·–—“”’•µ…")
@pytest.mark.parametrize("bold", [False, True])
def test_the_signs_of_the_trade_can_be_drawn(letter: str, bold: bool) -> None:
    assert has_glyph(letter, bold=bold)


def test_heights_are_those_of_the_letters() -> None:
    # The font states the height of its capitals (and the library reads it, in thousandths); letters may sit 1 % off it.
    assert text_extent("H", 10.0).high == pytest.approx(FACES[False].face.capHeight / 100, rel=0.01)
    assert text_extent("H", 10.0).low == 0.0
    assert text_extent("g", 10.0).low < -1.5
    assert text_extent("", 10.0).width == 0.0


@given(st.text("AVTo1. ", max_size=8), st.text("AVTo1. ", max_size=8))
def test_widths_add_up(first: str, second: str) -> None:
    assert text_width(first + second, 3.0) == pytest.approx(text_width(first, 3.0) + text_width(second, 3.0))
