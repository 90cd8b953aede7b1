"""Paper: exact in the unit that defines it; what cannot be used is told with what can."""

import pytest

from turnout_templates.errors import TemplateError
from turnout_templates.sheets.paper import PAPERS, Margins, PaperError, paper_named
from turnout_templates.sheets.plan import frame_on


# ISO 216 (A4 210 x 297 mm, A3 297 x 420 mm); ANSI/ASME Y14.1 A 8.5 x 11 in and B 11 x 17 in; Legal by common practice.
@pytest.mark.parametrize(
    ("name", "width", "height"),
    [
        ("A4", 210.0, 297.0),
        ("A3", 297.0, 420.0),
        ("Letter", 215.9, 279.4),
        ("Legal", 215.9, 355.6),
        ("Tabloid", 279.4, 431.8),
    ],
)
def test_known_papers_have_their_published_size(name: str, width: float, height: float) -> None:
    paper = paper_named(name.lower())
    assert paper.name == name
    assert paper.page_size("portrait") == pytest.approx((width, height), abs=1e-12)
    assert paper.page_size("landscape") == pytest.approx((height, width), abs=1e-12)


def test_every_paper_of_the_table_is_found_by_its_name() -> None:
    assert {paper_named(name) for name in PAPERS} == set(PAPERS.values())


@pytest.mark.parametrize(
    ("text", "unit", "width_mm", "height_mm"),
    [
        ("300x420 mm", "mm", 300.0, 420.0),
        ("420 x 300mm", "mm", 300.0, 420.0),
        ("13x19 in", "in", 330.2, 482.6),
        ("13 x 19 in", "in", 330.2, 482.6),
        ('8.5 × 14"', "in", 215.9, 355.6),
    ],
)
def test_a_size_with_its_unit_is_paper(text: str, unit: str, width_mm: float, height_mm: float) -> None:
    paper = paper_named(text)
    assert paper.unit == unit
    assert (paper.width_mm, paper.height_mm) == pytest.approx((width_mm, height_mm))
    assert paper_named(paper.name) == paper


def test_an_unknown_paper_is_answered_with_the_known_ones() -> None:
    with pytest.raises(PaperError, match=r'no paper "A44".*Did you mean "A4".*Letter, Legal, Tabloid, A4, A3'):
        paper_named("A44")
    with pytest.raises(TemplateError):
        paper_named("300x420")


@pytest.mark.parametrize("text", ["0x300 mm", "300x6000 mm", "20x300 in"])
def test_paper_of_no_use_is_refused(text: str) -> None:
    with pytest.raises(PaperError, match="5000 mm"):
        paper_named(text)


def test_margins_that_leave_no_drawing_are_refused() -> None:
    with pytest.raises(PaperError, match="larger paper or smaller margins"):
        frame_on(210.0, 297.0, Margins(90.0, 10.0, 90.0, 10.0))
    with pytest.raises(PaperError, match="less than nothing"):
        frame_on(210.0, 297.0, Margins(left=-1.0))
