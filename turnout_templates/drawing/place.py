"""Turn an item and a rigid move into the item moved: the one place that knows how each kind moves."""

from __future__ import annotations

from msgspec.structs import replace

from turnout_templates.drawing.items import Item, MarkItem, PathItem, RegionItem, TextItem
from turnout_templates.geometry.pose import Placement


def placed(item: Item, placement: Placement) -> Item:
    """Return `item` turned and shifted by `placement`; sizes, widths and dashes stay what they are."""
    if isinstance(item, PathItem):
        return replace(item, segments=tuple(segment.placed(placement) for segment in item.segments))
    if isinstance(item, RegionItem):
        return _placed_region(item, placement)
    return _placed_symbol(item, placement)


def _placed_region(item: RegionItem, placement: Placement) -> RegionItem:
    """Return a region moved, its hatch lines turned with it."""
    rings = tuple(tuple(segment.placed(placement) for segment in ring) for ring in item.rings)
    fill = replace(item.fill, hatch_angle=item.fill.hatch_angle + placement.turn)
    return replace(item, rings=rings, fill=fill)


def _placed_symbol(item: TextItem | MarkItem, placement: Placement) -> TextItem | MarkItem:
    """Return a text or mark moved: its point by the whole move, its direction by the turn."""
    return replace(item, at=placement.apply(item.at), angle=item.angle + placement.turn)
