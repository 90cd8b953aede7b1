"""Choose how blocks are set and placed on pages of text: on the fewest, whole, and in type as large as that allows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import product

from msgspec import Struct

from turnout_templates.drawing.items import Item
from turnout_templates.sheets.blocks import SetBlock, TextBlock, set_block
from turnout_templates.sheets.text_pages import Ground, Order, TextPages

TEXT_SIZES = (2.8, 2.6, 2.4, 2.2)
"""Sizes of text, mm, the largest first: 8, 7.4, 6.8 and 6.2 pt. A smaller one is taken where it saves a page."""
_ORDERS: tuple[Order, ...] = ("down", "across")
_STEP_OF_DEPTH = 0.2
"""Ways to fill a page are alike that differ by less than this part of its height (ours)."""


def set_blocks(
    blocks: Sequence[TextBlock], *grounds: Ground, sizes: Sequence[float] = TEXT_SIZES, in_turn: bool = False
) -> tuple[int, list[tuple[int, Item]]]:
    """Return (index of the ground taken, all texts and rules of `blocks` as (page index, item)), on the fewest pages.

    A table that fits a page stands whole, and so do sentences unless a page is saved by breaking them or they lead;
    what is broken is broken between its rows, and its heading repeated. Among sizes and `grounds` (all with the same
    sides) that need as few pages, the one that breaks fewest blocks, then the largest type, then the first ground is
    taken; of orders that which fills the last page less deep. Sizes between are tried where the smallest does better
    than the largest. Blocks go where there is room, unless they are to be read `in_turn`: then none begins above
    another that comes before it, and tables may be broken, small ones to save a page.
    """
    best = _set_in(sizes[0], blocks, grounds, in_turn=in_turn)
    fewest = _fewest(blocks, grounds, best.blocks, sizes[-1] / sizes[0])
    if len(sizes) > 1 and (best.rank[0] > fewest[0] or (best.rank > fewest and not in_turn)):
        least = _set_in(sizes[-1], blocks, grounds, in_turn=in_turn, tight=sizes[-1] / sizes[0])
        if least.rank < best.rank:
            between = (_set_in(size, blocks, grounds, in_turn=in_turn, tight=size / sizes[0]) for size in sizes[1:-1])
            best = min((best, *between, least), key=lambda way: way.rank)
    return best.how.ground, list(best.pages.texts())


class _How(Struct, frozen=True):
    """How blocks are placed: on which `ground`, in which `order`; whether any may be broken, whether read `in_turn`."""

    ground: int
    order: Order
    is_broken: bool
    in_turn: bool


class _Way(Struct, frozen=True):
    """The `blocks` set in one size on `pages`: `rank` is (pages after the first, blocks broken)."""

    blocks: Sequence[SetBlock]
    rank: tuple[int, int]
    how: _How
    pages: TextPages


def _set_in(
    size: float, blocks: Sequence[TextBlock], grounds: Sequence[Ground], *, in_turn: bool, tight: float = 1.0
) -> _Way:
    """Return the best way to set blocks in one size (mm), each as wide as takes no more pages and breaks no more.

    It is `tight` times as large as the largest.
    """
    made = [set_block(block, grounds[0].grid, size, tight) for block in blocks]
    orders: tuple[Order, ...] = ("across",) if in_turn else _ORDERS
    hows = (
        _How(ground, order, is_broken, in_turn)
        for is_broken, ground, order in product((False, True), range(len(grounds)), orders)
    )
    best = min((_placed(made, grounds, how) for how in hows), key=_preference)
    for k, block in enumerate(made):
        wider = block.wider
        while wider is not None:
            way = _placed([*best.blocks[:k], wider, *best.blocks[k + 1 :]], grounds, best.how)
            best = way if way.rank <= best.rank else best
            wider = wider.wider
    return best


def _preference(way: _Way) -> tuple[tuple[int, int], bool, int, int]:
    """Return what makes a way better: its rank, nothing that may be broken, an earlier ground, a last page less deep.

    Blocks down one column beside white paper are thus set side by side, unless that hardly helps.
    """
    pages = way.pages
    depth = (pages.ground.later.top - pages.foot) / pages.ground.later.height
    return way.rank, way.how.is_broken, way.how.ground, math.ceil(depth / _STEP_OF_DEPTH)


def _placed(made: Sequence[SetBlock], grounds: Sequence[Ground], how: _How) -> _Way:
    """Return blocks that are set where they go."""
    pages, broken = TextPages(grounds[how.ground], how.order, how.in_turn), 0
    for block in made:
        may_break = _may_break(block, grounds[how.ground].later.height / 2, how)
        broken += pages.put(block, may_break=may_break) and not block.leads
    return _Way(made, (pages.used - 1, broken), how, pages)


def _may_break(block: SetBlock, half: float, how: _How) -> bool:
    """Tell whether a block may be broken though it fits a page, of which `half` is so high (mm)."""
    if block.leads or (how.in_turn and block.height > half):
        return True
    return how.is_broken and (how.in_turn or not block.is_table)


def _fewest(
    blocks: Sequence[TextBlock], grounds: Sequence[Ground], made: Sequence[SetBlock], ratio: float
) -> tuple[int, int]:
    """Return what type smaller by a `ratio` can't do better than: pages after the first, and blocks broken.

    Of `made`, the blocks in larger type, it takes that part squared of the paper at least, since lines become lower and
    fewer; rows of ruled tables only as much as they may.
    """
    areas = [box for ground in grounds for box in (ground.first, ground.later)]
    tallest, columns = max(box.height for box in areas), grounds[0].grid.count
    heights = [
        max(block.row_at(ratio) * len(block.rows), ratio * ratio * whole.height)
        for block, whole in zip(blocks, made, strict=True)
    ]
    paper = sum(height * whole.span for height, whole in zip(heights, made, strict=True))
    return max(math.ceil(paper / (tallest * columns)) - 1, 0), sum(height > tallest for height in heights)


def last_page(texts: Sequence[tuple[int, Item]]) -> int:
    """Return the greatest page index of `texts`, 0 where there are none."""
    return max((page for page, _ in texts), default=0)
