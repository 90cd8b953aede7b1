"""Share out parts among as few lengths of rail and strip as the packing library finds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from turnout_templates.reports.cut_parts import CutLength, CutList, CutPart, Supply
from turnout_templates.reports.parts_to_cut import kerf_of, parts_to_cut
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.lengths import filed_end_of

_EXACT = 1e-6
"""What fits but for so much (mm) fits: far below anything that can be sawn, and more than a sum of floats loses."""
_ALIKE = 8
"""Of parts of which so many go into a length, whole lengths are cut of one size: at most an eighth is left of each, the
bench cuts many alike without measuring anew, and the time grows as the number of parts. A choice of this program."""


def cut_list_of(work: Trackwork) -> CutList:
    """Return what is cut of which length of rail and strip, for all of the trackwork."""
    return pack(parts_to_cut(work), filed_end_of(work.spec), kerf_of(work))


def pack(parts: Sequence[CutPart], filed_end: float, kerf: float) -> CutList:
    """Return which parts come from which length; `kerf` mm are lost at each cut.

    Longer parts are cut first, of equals those of one kind together and the first of `parts` first. The same parts
    always give the same list.
    """
    supplies: dict[Supply, list[CutPart]] = {}
    for part in parts:
        supplies.setdefault(part.supply, []).append(part)
    lengths: list[CutLength] = []
    counts: dict[str, int] = {}
    for supply, all_of_it in supplies.items():
        for group in _shared_out([part for part in all_of_it if _fits(part)], supply.length, kerf):
            number = counts[supply.material] = counts.get(supply.material, 0) + 1
            lengths.append(CutLength(supply, number, tuple(group), kerf, _left(group, supply.length, kerf)))
    return CutList(tuple(lengths), tuple(part for part in parts if not _fits(part)), filed_end, kerf)


def _fits(part: CutPart) -> bool:
    return part.cut <= part.supply.length + _EXACT


def _left(parts: Sequence[CutPart], length: float, kerf: float) -> float:
    """Return what is left of a length; the last cut takes no more than there is."""
    return max(0.0, length - sum(part.cut + kerf for part in parts))


def _shared_out(parts: Sequence[CutPart], length: float, kerf: float) -> Iterator[list[CutPart]]:
    """Yield what is cut from each length: whole lengths of one size first, then those of several."""
    mixed: list[CutPart] = []
    for size, alike in groupby(sorted(parts, key=lambda part: (-_size(part), part.what)), key=_size):
        group = list(alike)
        count = int((length + kerf + _EXACT) / (size + kerf))
        whole = len(group) // count * count if count >= _ALIKE else 0
        yield from (group[k : k + count] for k in range(0, whole, count))
        mixed += group[whole:]
    if mixed:
        yield from _packed(mixed, length, kerf)


def _size(part: CutPart) -> float:
    return round(part.cut, 6)


def _packed(parts: Sequence[CutPart], length: float, kerf: float) -> Iterator[list[CutPart]]:
    from binpacking.to_constant_volume import to_constant_volume

    yield from to_constant_volume(parts, length + kerf + _EXACT, key=lambda part: _size(part) + kerf)
