"""Turn a name such as "A4" or a size such as "13x19 in" into paper, exact in the unit that defines it.

Sources: ISO 216 for the A sizes, in whole mm; ANSI/ASME Y14.1 for Letter and Tabloid (sizes A and B), in inches; Legal
by common practice, no source.
"""

from __future__ import annotations

import difflib
import re
from typing import Literal

from msgspec import Struct

from turnout_templates.errors import TemplateError

Unit = Literal["mm", "in"]
Orientation = Literal["portrait", "landscape"]

MM_PER_INCH = 25.4
LONGEST_PAGE = 5000.0
"""Longest side of a page, mm: several viewers fail beyond 14,400 pt, which is 5,080 mm."""

_SIZE = re.compile(r"\s*(\d+(?:\.\d+)?)\s*[x×]\s*(\d+(?:\.\d+)?)\s*(mm|in|inch|inches|\")\s*", re.IGNORECASE)


class PaperError(TemplateError, ValueError):
    """Paper, margins or overlap that cannot be printed on; the message says what can."""


class Paper(Struct, frozen=True):
    """A size of paper: `width` and `height` in `unit` as it lies on the shelf (width is the shorter side)."""

    name: str
    width: float
    height: float
    unit: Unit

    @property
    def width_mm(self) -> float:
        """The shorter side in mm."""
        return self.width * (MM_PER_INCH if self.unit == "in" else 1.0)

    @property
    def height_mm(self) -> float:
        """The longer side in mm."""
        return self.height * (MM_PER_INCH if self.unit == "in" else 1.0)

    def page_size(self, orientation: Orientation) -> tuple[float, float]:
        """Return (width, height) in mm of a page of this paper held `orientation`."""
        sides = (self.width_mm, self.height_mm)
        return sides if orientation == "portrait" else (sides[1], sides[0])


class Margins(Struct, frozen=True):
    """What a printer cannot be trusted to print on, mm from each side of the page as it is held to be read."""

    left: float = 10.0
    bottom: float = 10.0
    right: float = 10.0
    top: float = 10.0


PAPERS: dict[str, Paper] = {
    paper.name: paper
    for paper in (
        Paper("Letter", 8.5, 11.0, "in"),
        Paper("Legal", 8.5, 14.0, "in"),
        Paper("Tabloid", 11.0, 17.0, "in"),
        Paper("A4", 210.0, 297.0, "mm"),
        Paper("A3", 297.0, 420.0, "mm"),
    )
}


def paper_named(text: str) -> Paper:
    """Return the paper called `text` (in any case), or of the size `text` states: "300x420 mm", "13 x 19 in".

    Raises PaperError for an unknown name, a size without unit, or a side of nothing or over 5,000 mm.
    """
    by_name = {name.lower(): paper for name, paper in PAPERS.items()}
    if (known := by_name.get(text.strip().lower())) is not None:
        return known
    if (size := _SIZE.fullmatch(text)) is None:
        raise PaperError(_unknown(text))
    return _custom(float(size[1]), float(size[2]), "mm" if size[3].lower() == "mm" else "in")


def _custom(first: float, second: float, unit: Unit) -> Paper:
    """Return paper of the two sides, the shorter one as its width."""
    width, height = sorted((first, second))
    paper = Paper(f"{width:g}x{height:g} {unit}", width, height, unit)
    if width <= 0.0 or paper.height_mm > LONGEST_PAGE:
        raise PaperError(
            f"Paper of {paper.name} cannot be used: each side must be more than nothing and at most "
            f"{LONGEST_PAGE:g} mm. Cut a longer roll into pages."
        )
    return paper


def _unknown(text: str) -> str:
    """Return the sentence for a name that is not in the table."""
    near = difflib.get_close_matches(text.strip().title(), PAPERS, n=1)
    guess = f' Did you mean "{near[0]}"?' if near else ""
    return (
        f'There is no paper "{text}".{guess} Known are {", ".join(PAPERS)}; or state a size with its unit, '
        'such as "300x420 mm" or "13x19 in".'
    )
