"""Turn trackwork into blocks that tell what to buy and cut."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from turnout_templates.checks.finding import Finding
from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.cut_parts import CutLength, CutList, CutPart, Supply
from turnout_templates.reports.cut_tables import runs_alike
from turnout_templates.reports.id_ranges import ranges_of
from turnout_templates.reports.lengths import fine_of, length_of
from turnout_templates.reports.packing import cut_list_of
from turnout_templates.reports.supplies import section_of
from turnout_templates.trackwork.model import Trackwork

_METAL = ("rail", "flat strip")


def cut_list_blocks(work: Trackwork, findings: Sequence[Finding]) -> tuple[Block, ...]:
    """Return the blocks: what to buy, what to cut from each length of rail and of strip, what is done to throw bars."""
    found = cut_list_of(work)
    made = (_buy(work, found), _metal(work, found), _strips(work, found), _throw_bars(found))
    return tuple(block for block in made if len(block.rows) > 1)


def _buy(work: Trackwork, found: CutList) -> Block:
    rows: list[Row] = [("buy", "section", "in lengths of", "how many", "left over", "longest offcut")]
    for supply, group in groupby(found.lengths, key=lambda length: length.supply):
        left = [length.offcut for length in group]
        count, total, longest = str(len(left)), length_of(work, sum(left)), length_of(work, max(left))
        rows.append((*_named(work, supply), length_of(work, supply.length), count, total, longest))
    for supply, parts in _alone(found):
        lengths = ", ".join(f"{_names(group)} {length_of(work, group[0].cut)}" for group in _by_size(parts))
        rows.append((*_named(work, supply), f"longer than {length_of(work, supply.length)}", lengths, "", ""))
    filed, sawn = fine_of(work, found.filed_end), fine_of(work, found.kerf)
    rows.append(
        f"Lengths to cut of rails hold {filed} more for each end that is filed to a point, nose, splice or mitre, and "
        f"each saw cut takes {sawn}: both common practice, no source. So are the lengths in which rail and strip are "
        "sold, where the spec does not say them (longest_rail; ties: strip)."
    )
    return Block("What to buy", tuple(rows), has_head=True)


def _alone(found: CutList) -> Iterator[tuple[Supply, list[CutPart]]]:
    """Yield what is longer than any length of its supply, which has to be bought by itself."""
    for supply in dict.fromkeys(part.supply for part in found.alone):
        yield supply, [part for part in found.alone if part.supply == supply]


def _named(work: Trackwork, supply: Supply) -> tuple[str, str]:
    words = {"copper-clad": "copper-clad strip", "wood": "wood strip"}
    return words.get(supply.material, supply.material), section_of(supply, work.spec.units)


def _metal(work: Trackwork, found: CutList) -> Block:
    rows: list[Row] = [("from", "cut in this order", "what", "length to cut", "left over", "")]
    for length in found.lengths:
        if length.supply.material in _METAL:
            cuts = [(" + ".join(part.ids), part.what, length_of(work, part.cut)) for part in length.parts]
            told = _side_by_side(length.label, cuts, length_of(work, length.offcut))
            rows += [(*row, part.note) for row, part in zip(told, length.parts, strict=True)]
    return Block("Rail to cut", tuple(rows), has_head=True)


def _side_by_side(label: str, cuts: Iterable[tuple[str, ...]], left: str) -> Iterator[tuple[str, ...]]:
    """Yield the cuts of one length, the first with its label and the last with what is left over."""
    rows = list(cuts)
    for k, row in enumerate(rows):
        yield (label if k == 0 else "", *row, left if k == len(rows) - 1 else "")


def _by_size(parts: Sequence[CutPart]) -> Iterator[list[CutPart]]:
    """Yield parts of one kind, supply and length, the longest of each supply first."""
    groups: dict[tuple[Supply, str, float], list[CutPart]] = {}
    for part in parts:
        groups.setdefault((part.supply, part.what, round(part.cut, 6)), []).append(part)
    supplies = list(dict.fromkeys(part.supply for part in parts))
    for key in sorted(groups, key=lambda key: (supplies.index(key[0]), -key[2], key[1])):
        yield groups[key]


def _names(parts: Sequence[CutPart]) -> str:
    return ranges_of([" + ".join(part.ids) for part in parts])


def _strips(work: Trackwork, found: CutList) -> Block:
    """Return what is cut from each strip; strips that are cut alike share their rows."""
    rows: list[Row] = [("from", "count", "length", "what", "which", "left over of each")]
    strips = [length for length in found.lengths if length.supply.material not in _METAL]
    for _, group in groupby(strips, key=_pattern):
        alike = list(group)
        many = len(alike) > 1
        cuts = [
            (
                f"{len(alike)} × {len(parts[0])}" if many else str(len(parts[0])),
                length_of(work, parts[0][0].cut),
                parts[0][0].what,
                _names([part for strip in parts for part in strip]),
            )
            for parts in zip(*(runs_alike(strip.parts) for strip in alike), strict=True)
        ]
        upto = f" to {alike[-1].number}" if many else ""
        rows += _side_by_side(f"{alike[0].label}{upto}", cuts, length_of(work, alike[0].offcut))
    return Block("Ties and throw bars to cut", tuple(rows), has_head=True)


def _pattern(strip: CutLength) -> tuple[object, ...]:
    """Return what makes two strips be cut alike."""
    return strip.supply, tuple((part.what, round(part.cut, 6), part.note) for part in strip.parts)


def _throw_bars(found: CutList) -> Block:
    rows: list[Row] = [(part.ids[0], part.note) for part in found.parts if part.what == "throw bar"]
    return Block("Throw bars", (("throw bar of", "what to do"), *rows) if rows else (), has_head=True)
