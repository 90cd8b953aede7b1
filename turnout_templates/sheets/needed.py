"""Turn the sheets laid over a drawing into those that are needed, and count what lies whole on none of them."""

from __future__ import annotations

from bisect import bisect_left, bisect_right

from msgspec.structs import replace

from turnout_templates.sheets.joining import Laid, Seam, find_seams, hangs_together, laid_sheets
from turnout_templates.sheets.sampling import BULGE, STEP
from turnout_templates.sheets.stacking import Chain
from turnout_templates.sheets.strips import Cell, Field


def needed(
    turned: Field, chains: list[Chain], laid: list[Laid], seams: list[Seam], cell: Cell
) -> tuple[list[Chain], list[Laid], list[Seam]]:
    """Return chains, sheets and seams without sheets that show only what another does, if the rest hang together.

    Such is one in whose strip a track only ends, within the overlap with the strip before.
    """
    for sheet in reversed(laid):
        if not _is_spare(turned, sheet, [other for other in laid if other is not sheet], cell):
            continue
        fewer = [
            replace(chain, starts=tuple(v for v in chain.starts if (strip, v) != (sheet.strip, sheet.v)))
            for strip, chain in enumerate(chains)
        ]
        rest = laid_sheets(fewer)
        joins = find_seams(rest, cell)
        if hangs_together(len(rest), joins) and count_split(turned, rest, cell) <= count_split(turned, laid, cell):
            chains, laid, seams = fewer, rest, joins
    return chains, laid, seams


def _is_spare(turned: Field, sheet: Laid, others: list[Laid], cell: Cell) -> bool:
    """Tell whether one of the `others`, its bare ends aside, holds all points on a sheet and those a step round it.

    Then it holds the lines between them as well, which several sheets together need not.
    """
    across, along = cell.across - cell.across_end - BULGE, cell.along - cell.along_end - BULGE
    first, last = bisect_left(turned.us, sheet.u - STEP), bisect_right(turned.us, sheet.u + cell.across + STEP)
    low, high = sheet.v - STEP, sheet.v + cell.along + STEP
    return any(
        all(
            other.u + BULGE <= u <= other.u + across and other.v + BULGE <= v <= other.v + along
            for u, v in zip(turned.us[first:last], turned.vs[first:last], strict=True)
            if low <= v <= high
        )
        for other in others
        if abs(other.u - sheet.u) < cell.across and abs(other.v - sheet.v) < cell.along
    )


def count_split(turned: Field, laid: list[Laid], cell: Cell) -> int:
    """Return how many texts and marks lie whole on no sheet."""
    across, along = cell.across - cell.across_end, cell.along - cell.along_end
    return sum(
        not any(
            sheet.u <= whole.u
            and whole.to_u <= sheet.u + across
            and sheet.v <= whole.v
            and whole.to_v <= sheet.v + along
            for sheet in laid
        )
        for whole in turned.wholes
    )
