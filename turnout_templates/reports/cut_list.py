"""Turn trackwork into blocks that tell what to buy and cut."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import groupby

from turnout_templates.checks.finding import Finding
from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.cut_parts import CutLength, CutList, CutPart, Supply
from turnout_templates.reports.cut_tables import runs_alike
from turnout_templates.reports.lengths import fine_of, length_of
from turnout_templates.reports.packing import cut_list_of
from turnout_templates.reports.supplies import section_of
from turnout_templates.trackwork.model import Trackwork

_METAL = ("rail", "flat strip")
_ID = re.compile(r"(\D*)(\d+)")


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
        lengths = ", ".join(f"{_ids(group)} {length_of(work, group[0].cut)}" for group in _by_size(parts))
        rows.append((*_named(work, supply), f"longer than {length_of(work, supply.length)}", lengths, "", ""))
    filed, sawn = fine_of(work, found.filed_end), fine_of(work, found.kerf)
    rows.append(
        f"Rails are cut {filed} longer for each end that is filed to a point, nose, splice or mitre; the lengths to cut "
        f"hold that. Each saw cut is reckoned to take {sawn}. Both, and the lengths in which rail and strip are sold "
        "where the spec says nothing of them: common practice, no source."
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
            rows += _of_length(work, length)
    return Block("Rail to cut", tuple(rows), has_head=True)


def _of_length(work: Trackwork, length: CutLength) -> Iterator[Row]:
    for k, part in enumerate(length.parts):
        first, last = k == 0, k == len(length.parts) - 1
        left = length_of(work, length.offcut) if last else ""
        yield (
            length.label if first else "",
            " + ".join(part.ids),
            part.what,
            length_of(work, part.cut),
            left,
            part.note,
        )


def _ties(work: Trackwork, found: CutList) -> Block:
    rows: list[Row] = [("made of", "length", "count", "ties")]
    ties = [part for part in found.parts if part.what in ("tie", "headblock")]
    several = _in_several_sections(ties)
    for group in _by_size(ties):
        supply, what = group[0].supply, group[0].what
        section = f" {section_of(supply, work.spec.units)}" if supply.material in several else ""
        headblock = ", headblock" if what == "headblock" else ""
        length = length_of(work, group[0].cut)
        rows.append((f"{supply.material}{section}{headblock}", length, str(len(group)), _ids(group)))
    return Block("Ties to cut", tuple(rows), has_head=True)


def _in_several_sections(parts: Sequence[CutPart]) -> set[str]:
    """Return the materials that parts need in more than one section."""
    supplies = [supply.material for supply in {part.supply for part in parts}]
    return {material for material in supplies if supplies.count(material) > 1}


def _by_size(parts: Sequence[CutPart]) -> Iterator[list[CutPart]]:
    """Yield parts of one kind, supply and length, the longest of each supply first, each in the order of their ids."""
    groups: dict[tuple[Supply, str, float], list[CutPart]] = {}
    for part in parts:
        groups.setdefault((part.supply, part.what, round(part.cut, 6)), []).append(part)
    supplies = list(dict.fromkeys(part.supply for part in parts))
    for key in sorted(groups, key=lambda key: (supplies.index(key[0]), -key[2], key[1])):
        yield sorted(groups[key], key=lambda part: _numbered(part.ids[0]))


def _numbered(name: str) -> tuple[str, int]:
    found = _ID.fullmatch(name)
    return (found[1], int(found[2])) if found else (name, 0)


def _ids(parts: Sequence[CutPart]) -> str:
    """Return the ids of parts, three and more that follow each other as from and to: `T1 to T14, T20`."""
    names = [" + ".join(part.ids) for part in parts]
    runs: list[list[str]] = []
    for name in names:
        if runs and _follows(runs[-1][-1], name):
            runs[-1].append(name)
        else:
            runs.append([name])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)


def _follows(one: str, other: str) -> bool:
    (kind, number), (other_kind, next_number) = _numbered(one), _numbered(other)
    return kind == other_kind and next_number == number + 1


def _strips(work: Trackwork, found: CutList) -> Block:
    """Return what is cut from each strip; those that are cut alike share a row."""
    rows: list[Row] = [("strip", "cut from each", "left over of each")]
    strips = (length for length in found.lengths if length.supply.material not in _METAL)
    for (_, pattern, left), group in groupby(strips, key=lambda strip: _pattern(work, strip)):
        alike = list(group)
        upto = f" to {alike[-1].number}" if len(alike) > 1 else ""
        rows.append((f"{alike[0].label}{upto}", pattern, left))
    return Block("Strip to cut", tuple(rows), has_head=True)


def _pattern(work: Trackwork, strip: CutLength) -> tuple[Supply, str, str]:
    cuts = [
        f"{len(alike)} × {length_of(work, alike[0].cut)}{_called(alike[0])}" for alike in runs_alike(strip.parts)
    ]
    return strip.supply, ", ".join(cuts), length_of(work, strip.offcut)


def _called(part: CutPart) -> str:
    """Return what a part is called that is no common tie."""
    return {"tie": "", "throw bar": f" throw bar {part.ids[0]}"}.get(part.what, f" {part.what}")


def _throw_bars(work: Trackwork, found: CutList) -> Block:
    rows: list[Row] = [("throw bar", "from", "length", "")]
    for length in found.lengths:
        rows += [
            (part.ids[0], length.label, length_of(work, part.cut), part.note)
            for part in length.parts
            if part.what == "throw bar"
        ]
    return Block("Throw bars", tuple(rows), has_head=True)
