"""Prove from what `measure` prints, and nothing else, that no copper joins two sections and that no piece is unfed.

Bases are rebuilt as regions, ties as copper without the gaps and patches told; whatever touches a piece of copper is
joined to it in a graph of networkx. Nothing is taken from what the program says lies on a tie.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import networkx as nx
import shapely
from shapely import affinity
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from .bases import _flanges
from .metal import Metal
from .tracing import Figures

_HAIR = 0.02
"""Chords of bases stray from those of the program by less than this (mm)."""


def faults(metal: Metal) -> Iterator[str]:
    """Yield all that is wrong with the wiring of a spec."""
    figures = metal.figures
    section_of = {part: s["id"] for s in figures["sections"] for part in s["part_ids"]}
    parts = (*figures["pieces"], *figures["wings"], *figures["guards"])
    yield from (f"{part['id']} is of no section" for part in parts if part["id"] not in section_of)
    yield from _polarities(figures, section_of)
    bases = list(_bases(metal))
    solder, joined = nx.Graph(), nx.Graph()
    for graph in (solder, joined):
        graph.add_nodes_from(section_of)
        graph.add_edges_from(_metal_joins(figures))
    joined.add_edges_from(_joiners(figures))
    yield from _copper(figures, bases, solder, joined)
    for part in nx.connected_components(joined):
        found = sorted({section_of[name] for name in part if name in section_of})
        if len(found) > 1:
            yield f"one conductor is of sections {found}: {sorted(n for n in part if n in section_of)[:6]}"
    fed = {(f["piece"], f["section"]) for f in figures["feeders"]}
    pieces = {piece["id"] for piece in figures["pieces"]}
    for part in nx.connected_components(solder):
        dead = sorted(n for n in part if n in pieces)
        if dead and not any((name, section_of.get(name)) in fed for name in part):
            yield f"unfed: {dead}"


def _polarities(figures: Figures, section_of: dict[str, str]) -> Iterator[str]:
    """Yield pieces of bars of one polarity that are of the section of the other."""
    polarity = {bar["id"]: bar["polarity"] for bar in figures["rails"]}
    for piece in figures["pieces"]:
        own, section = polarity[piece["bar"]], section_of.get(piece["id"], "")
        if {own, section.rpartition(" ")[2]} == {"left", "right"}:
            yield f"{piece['id']} is {own} and of section {section}"


def _bases(metal: Metal) -> Iterator[tuple[str, BaseGeometry]]:
    """Yield the region of the base of each piece, wing and guard."""
    pieces: dict[str, list[Figures]] = {}
    for piece in metal.figures["pieces"]:
        pieces.setdefault(piece["bar"], []).append(piece)
    for item in metal.items:
        whole = shapely.union_all([item.region, *_flanges(metal, item)])
        whole = whole.buffer(-_HAIR).buffer(_HAIR)  # slivers at the ends of flares, where its sides are grown
        for piece in pieces.get(item.id, ()):
            yield piece["id"], whole.intersection(_reach(metal, piece)) if len(pieces[item.id]) > 1 else whole
        if item.id not in pieces:
            yield item.id, whole


def _reach(metal: Metal, piece: Figures) -> BaseGeometry:
    """Return the strip that a piece of a bar lies in."""
    strips = [
        metal.strip(metal.whole[s["route"], s["gauge"], s["hand"]], s["from_mm"], s["to_mm"], -2.0, metal.head + 2.0)
        for s in piece["stretches"]
    ]
    return shapely.union_all(strips)


def _metal_joins(figures: Figures) -> Iterator[tuple[str, str]]:
    """Yield parts that are one bent bar or soldered together at a V or an elbow."""
    ends: dict[tuple[str, str], list[str]] = {}
    for piece in figures["pieces"]:
        yield from ((piece["id"], other) for other in piece["part_ids"])
        for end in piece["ends"]:
            ends.setdefault((end["at"], piece["bar"]), []).append(piece["id"])
    for contact in figures["contacts"]:
        if contact["kind"] in ("splice", "elbow"):
            one, two = (ends.get((contact["at"], bar), []) for bar in contact["parts"])
            yield from ((a, b) for a in one for b in two)
    for guard in figures["guards"]:
        yield from ((guard["id"], other) for other in guard.get("one_bar_with", ()))


def _joiners(figures: Figures) -> Iterator[tuple[str, str]]:
    """Yield the pieces and the joiners at their ends."""
    for piece in figures["pieces"]:
        yield from ((piece["id"], f"joiner {end['at']}") for end in piece["ends"] if end["kind"] == "joint")


def _copper(
    figures: Figures, bases: list[tuple[str, BaseGeometry]], solder: nx.Graph, joined: nx.Graph
) -> Iterator[str]:
    """Join what touches one piece of copper; yield gaps under bases and bared rails that touch copper."""
    ties = {tie["id"]: tie for tie in figures["ties"]}
    told = {entry["id"]: entry for entry in figures["copper"] if entry["kind"] == "tie"}
    clad = [tie for tie in ties.values() if tie["material"] == "copper-clad"]
    yield from (f"tie {tie['id']} is copper-clad and not told" for tie in clad if tie["id"] not in told)
    tree = shapely.STRtree([region for _, region in bases])
    bars = {piece["id"]: piece["bar"] for piece in figures["pieces"]}
    for tie in (tie for tie in clad if tie["id"] in told):
        entry = told[tie["id"]]
        bared = {part["part"]: part for part in entry["parts"] if part["bared_mm"] is not None}
        cuts = [_cut(gap) for gap in entry["gaps"]]
        gone = [*cuts, *(_patch(tie, part) for part in bared.values())]
        copper = _tie(tie).difference(shapely.union_all(gone))
        lying = [bases[i] for i in sorted(tree.query(_tie(tie)).tolist())]
        lying = [(name, region.intersection(_tie(tie))) for name, region in lying if region.intersects(_tie(tie))]
        for cut, gap in zip(cuts, entry["gaps"], strict=True):
            clear = figures["wiring"]["tight_gap_clear_mm" if gap["tight"] else "gap_clear_mm"]
            for name, region in lying:
                if name not in bared and region.distance(cut) < clear - _HAIR:
                    yield f"a gap of tie {tie['id']} lies at the base of {name}"
        for k, part in enumerate(shapely.get_parts(copper)):
            touching = [name for name, region in lying if region.intersection(part).area > _HAIR**2]
            touched = (name for name in touching if name in bared)
            yield from (f"{name} touches copper of tie {tie['id']}, taken off under it" for name in touched)
            node = f"copper {tie['id']} {k}"
            joined.add_edges_from((name, node) for name in touching if name not in bared)
            fast = (name for name in touching if name not in bared and bars.get(name) not in tie["loose"])
            solder.add_edges_from((name, node) for name in fast)


def _tie(tie: Figures) -> Polygon:
    half, side = tie["length_mm"] / 2, tie["width_mm"] / 2
    return _placed(tie, box(-half, -side, half, side))


def _placed(tie: Figures, region: Polygon) -> Polygon:
    turned = affinity.rotate(region, tie["angle_deg"], origin=(0.0, 0.0))
    return affinity.translate(turned, tie["x_mm"], tie["y_mm"])


def _patch(tie: Figures, part: Figures) -> Polygon:
    """Return where the copper of a tie is taken off; its first end lies at the end of its long axis."""
    half, side = tie["length_mm"] / 2, tie["width_mm"] / 2
    low, high = part["from_mm"] - part["bared_mm"], part["to_mm"] + part["bared_mm"]
    return _placed(tie, box(half - high, -side - 1.0, half - low, side + 1.0))


def _cut(gap: Figures) -> BaseGeometry:
    way = math.radians(gap["heading_deg"])
    x, y = gap["x_mm"], gap["y_mm"]
    ends = [(x + s * _REACH * math.cos(way), y + s * _REACH * math.sin(way)) for s in (-1, 1)]
    return LineString(ends).buffer(gap["width_mm"] / 2, cap_style="flat")


_REACH = 15.0
"""A gap is cut across its tie, which is narrower than this to either side (mm)."""
