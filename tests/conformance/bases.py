"""Rebuild what is left of rail bases from the cuts that `measure` tells, and find where they lie on other parts.

A base reaches beyond the head on both sides, by half of what it is wider. What a head has lost to filing it still has
under it. A wing or guard of strip has no base; of rail it has one on both sides of its outline.
"""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from shapely.geometry.base import BaseGeometry

from .metal import Item, Metal, is_metal, size_of, without
from .running_faces import Face, key_of
from .tracing import Figures

CORNER = 0.1
"""Corners no thicker than this part of a head are not filed for: it is what is left between bases at the least."""
_FAR = 20.0  # mm to either side: further than any guiding rail stands from its face
_HAIR = 0.01  # mm: by so much the two sides of a guiding rail are parted at its ends


def bases_on_parts(metal: Metal) -> Iterator[str]:
    """Yield each base that lies on another part's head or base, parts that are one bent bar left out."""
    items = metal.items
    bases = [shapely.union_all(list(_flanges(metal, item))) for item in items]
    wholes = [base.union(item.region) for base, item in zip(bases, items, strict=True)]
    one = set(_one_bar(metal))
    for i, j in shapely.STRtree(bases).query(wholes, predicate="intersects").T.tolist():
        a, b = items[j], items[i]
        if a.id == b.id or frozenset((a.id, b.id)) in one:
            continue
        common = bases[j].intersection(wholes[i])
        if is_metal(common, CORNER * metal.head):
            yield f"the base of {a.id} lies on {b.id}: {size_of(common)}"


def _one_bar(metal: Metal) -> Iterator[frozenset[str]]:
    """Yield the parts that are one bent bar."""
    for contact in metal.figures["contacts"]:
        if contact["kind"] in ("elbow", "wing at knuckle"):
            yield frozenset(contact["parts"])
    for guard in metal.figures["guards"]:
        yield from (frozenset((guard["id"], other)) for other in guard.get("one_bar_with", ()))


def _flanges(metal: Metal, item: Item) -> Iterator[BaseGeometry]:
    """Yield what is left of a part's base beside its head."""
    reach = (metal.figures["rail"]["base_mm"] - metal.head) / 2
    cuts = [cut for cut in metal.figures["base_cuts"] if cut["part"] == item.id]
    if "pieces" not in item.figures:
        yield from _flanges_of_guide(metal, item, cuts, reach)
        return
    for piece in item.figures["pieces"]:
        face = metal.whole[key_of(piece)]
        mine = [cut for cut in cuts if key_of(cut["beside"]) == face.key]
        for low, high in _uncut(mine, "gauge", piece["from_mm"], piece["to_mm"]):
            yield metal.strip(face, low, high, -reach, 0.0)
        for low, high in _uncut(mine, "outer", piece["from_mm"], piece["to_mm"]):
            yield metal.strip(face, low, high, 0.0, metal.head + reach).difference(item.region)


def _uncut(cuts: list[Figures], side: str, low: float, high: float) -> list[tuple[float, float]]:
    return without((low, high), [(cut["from_mm"], cut["to_mm"]) for cut in cuts if cut["side"] == side])


def _flanges_of_guide(metal: Metal, item: Item, cuts: list[Figures], reach: float) -> Iterator[BaseGeometry]:
    """Yield what lies beside the outline of a wing or guard, on the side of its face ("gauge") and on the other."""
    if item.figures["material"] == "strip":
        return
    face = metal.whole[key_of(item.figures["beside"])]
    stations = [*item.figures["straight"], *item.figures.get("ends", ()), item.figures.get("end", None)]
    known = [s for s in stations if s is not None]
    low, high = min(known), max(known)
    grown = item.region.buffer(reach, join_style="mitre").difference(item.region)
    beside = _between(metal, face, low + _HAIR, high - _HAIR)
    parts = shapely.get_parts(grown.intersection(beside)).tolist()
    line = metal.face_line(face)
    middle = line.distance(item.region) + metal.head / 2
    for part in parts:
        side = "gauge" if part.distance(line) < middle else "outer"
        for a, b in _uncut(cuts, side, low, high):
            yield part.intersection(_between(metal, face, a, b))


def _between(metal: Metal, face: Face, low: float, high: float) -> BaseGeometry:
    return metal.strip(face, low, high, 0.0, -_FAR)
