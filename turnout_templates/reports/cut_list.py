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
    """Return the blocks: what to buy, the rails length by length, ties by length, strips, throw bars."""
    found = cut_list_of(work)
    made = (_buy(work, found), _metal(work, found), _ties(work, found), _strips(work, found), _throw_bars(work, found))
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
        f"each saw cut takes {sawn}: both common practice, no source. Rail and strip are sold in these lengths as the "
        "spec says, else by the yard: common practice, no source."
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


def _ties(work: Trackwork, found: CutList) -> Block:
    rows: list[Row] = [("made of", "length", "count", "ties")]
    ties = [part for part in found.parts if part.what in ("tie", "headblock")]
    several = _in_several_sections(ties)
    for group in _by_size(ties):
        supply, what = group[0].supply, group[0].what
        section = f" {section_of(supply, work.spec.units)}" if supply.material in several else ""
        headblock = ", headblock" if what == "headblock" else ""
        length = length_of(work, group[0].cut)
        rows.append((f"{supply.material}{section}{headblock}", length, str(len(group)), _names(group)))
    return Block("Ties to cut", tuple(rows), has_head=True)


def _in_several_sections(parts: Sequence[CutPart]) -> set[str]:
    """Return the materials that parts need in more than one section."""
    supplies = [supply.material for supply in {part.supply for part in parts}]
    return {material for material in supplies if supplies.count(material) > 1}


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
    """Return what is cut from each strip; those that are cut alike share their rows."""
    rows: list[Row] = [("from each", "count", "length", "what", "left over")]
    strips = [length for length in found.lengths if length.supply.material not in _METAL]
    for _, group in groupby(strips, key=lambda strip: (strip.supply, list(_cuts(work, strip)))):
        alike = list(group)
        upto = f" to {alike[-1].number}" if len(alike) > 1 else ""
        rows += _side_by_side(f"{alike[0].label}{upto}", _cuts(work, alike[0]), length_of(work, alike[0].offcut))
    return Block("Strip to cut", tuple(rows), has_head=True)


def _cuts(work: Trackwork, strip: CutLength) -> Iterator[tuple[str, ...]]:
    for alike in runs_alike(strip.parts):
        what = f"throw bar {alike[0].ids[0]}" if alike[0].what == "throw bar" else alike[0].what
        yield str(len(alike)), length_of(work, alike[0].cut), what


def _throw_bars(work: Trackwork, found: CutList) -> Block:
    rows: list[Row] = [("throw bar", "from", "length", "")]
    for length in found.lengths:
        rows += [
            (part.ids[0], length.label, length_of(work, part.cut), part.note)
            for part in length.parts
            if part.what == "throw bar"
        ]
    return Block("Throw bars", tuple(rows), has_head=True)
