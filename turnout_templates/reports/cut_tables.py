"""Turn a cut list into a table for spreadsheets (CSV) and for programs (JSON).

Both hold the same rows in the same order: parts of one length that come from the same length of rail or strip.
The names are a contract (see DEVELOPERS.md): they are added, never changed; `format` counts changes.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator, Sequence
from itertools import groupby

from turnout_templates.reports.cut_parts import CutLength, CutList, CutPart
from turnout_templates.reports.packing import cut_list_of
from turnout_templates.reports.places import Figures
from turnout_templates.reports.supplies import section_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import MM_PER_INCH, Unit

FORMAT = 1
COLUMNS = (
    "part", "ids", "material", "section", "length_mm", "length_in", "filing_mm", "count", "cut_from", "cut_from_mm",
    "left_mm", "note",
)  # fmt: skip
"""The columns of the CSV, which are the names of a part in the JSON."""
_PLACES = 5
"""Decimals in the CSV, so many that a spreadsheet which writes decimals with a comma takes none for another number: it
reads 513.791 as half a million (LibreOffice in German did), and may take 5.1234 for a month of some year; with five it
leaves text, which is seen."""


def cut_list_figures(work: Trackwork) -> Figures:
    """Return the cut list as values that JSON can hold: lengths in full precision, mm unless the name says inches."""
    found, spec = cut_list_of(work), work.spec
    return {
        "format": FORMAT,
        "name": spec.name,
        "revision": spec.revision,
        "fingerprint": spec.fingerprint,
        "filed_end_mm": found.filed_end,
        "saw_cut_mm": found.kerf,
        "allowances_source": "common practice, no source",
        "lengths": [_length(length, spec.units) for length in found.lengths],
        "parts": list(_rows(found, spec.units)),
    }


def _length(length: CutLength, unit: Unit) -> Figures:
    supply = length.supply
    return {
        "id": length.label,
        "material": supply.material,
        "section": section_of(supply, unit),
        "width_mm": supply.width,
        "height_mm": supply.height,
        "length_mm": supply.length,
        "offcut_mm": length.offcut,
    }


def _rows(found: CutList, unit: Unit) -> Iterator[Figures]:
    """Yield a row for each run of parts alike, length by length, then for what is bought by itself."""
    for length in found.lengths:
        left = length.supply.length
        for alike in runs_alike(length.parts):
            left = max(0.0, left - sum(part.cut + length.kerf for part in alike))
            yield _row(alike, unit, length, left)
    for alike in runs_alike(found.alone):
        yield _row(alike, unit, None, None)


def runs_alike(parts: Sequence[CutPart]) -> Iterator[list[CutPart]]:
    """Yield parts that follow each other and are cut alike; each bent bar, and all that has a note, is by itself."""
    for _, group in groupby(enumerate(parts), key=_alike):
        yield [part for _, part in group]


def _alike(numbered: tuple[int, CutPart]) -> tuple[object, ...]:
    number, part = numbered
    alone = number if part.what not in ("tie", "headblock") else -1
    return part.what, part.supply, round(part.cut, 6), alone


def _row(alike: Sequence[CutPart], unit: Unit, length: CutLength | None, left: float | None) -> Figures:
    part = alike[0]
    return {
        "part": part.what,
        "ids": [list(each.ids) for each in alike],
        "material": part.supply.material,
        "section": section_of(part.supply, unit),
        "length_mm": part.length,
        "length_in": part.length / float(MM_PER_INCH),
        "filing_mm": part.filing,
        "count": len(alike),
        "cut_from": None if length is None else length.label,
        "cut_from_mm": None if length is None else length.supply.length,
        "left_mm": left,
        "note": part.note,
    }


def cut_list_json(work: Trackwork) -> bytes:
    """Return the cut list as JSON."""
    return (json.dumps(cut_list_figures(work), indent=1, allow_nan=False, ensure_ascii=False) + "\n").encode()


def cut_list_csv(work: Trackwork) -> bytes:
    """Return the parts of the cut list as CSV (RFC 4180), in UTF-8 with the mark by which spreadsheets know that."""
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, COLUMNS)
    writer.writeheader()
    writer.writerows(_cells(row) for row in cut_list_figures(work)["parts"])
    return text.getvalue().encode("utf-8-sig")


def _cells(row: Figures) -> dict[str, str]:
    """Return a row as text: parts of a bent bar joined by +, alike ones by blanks, lengths rounded."""
    cells = {name: "" if row[name] is None else str(row[name]) for name in COLUMNS}
    for name in COLUMNS:
        if isinstance(row[name], float):
            cells[name] = f"{row[name]:.{_PLACES}f}"
    return {**cells, "ids": " ".join("+".join(ids) for ids in row["ids"])}
