"""Drawings for the tests of sheets: bands along lines and curves, forks, labels; and a plain grid to beat."""

import itertools
import math
from collections.abc import Iterable, Iterator

from drawing.shapes import points_along
from hypothesis import strategies as st

from turnout_templates.drawing.bounds import Box, item_chains, text_corners
from turnout_templates.drawing.items import (
    Anchor,
    Drawing,
    Fill,
    Item,
    KeepClear,
    MarkItem,
    PathItem,
    RegionItem,
    Stroke,
    TextItem,
)
from turnout_templates.geometry.pose import Placement, Point
from turnout_templates.geometry.segments import ArcSegment, CubicSegment, LineSegment, Segment, polyline

PEN = Stroke(0.2)


def band(length: float, *, width: float = 60.0, radius: float | None = None, turn: float = 0.0) -> tuple[Item, ...]:
    """Two lines `width` apart along a line, or a left-hand curve of `radius`, that starts at 0, 0 along `turn`."""
    normal = turn + math.pi / 2
    sides = []
    for offset in (-width / 2, width / 2):
        start = (offset * math.cos(normal), offset * math.sin(normal))
        segment: Segment
        if radius is None:
            end = (start[0] + length * math.cos(turn), start[1] + length * math.sin(turn))
            segment = LineSegment(start, end)
        else:
            centre = (radius * math.cos(normal), radius * math.sin(normal))
            segment = ArcSegment(centre, radius - offset, normal - math.pi, length / radius)
        sides.append(PathItem((segment,), PEN, "lines", f"side {offset:g}"))
    return tuple(sides)


def along(s: float, offset: float, radius: float | None) -> tuple[Point, float]:
    """The point `s` mm along a band that starts along +x and `offset` to its left, and the direction there."""
    if radius is None:
        return (s, offset), 0.0
    heading = s / radius
    return ((radius - offset) * math.sin(heading), radius - (radius - offset) * math.cos(heading)), heading


def ladder(length: float, radius: float | None = None, *, step: float = 8.0, texts: bool = True) -> Drawing:
    """A band with bars across it, hatched and labelled like a ladder of numbered rungs, marks, names and anchors."""
    items: list[Item] = [*band(length, width=16.5, radius=radius), *band(length, width=18.0, radius=radius)]
    for k in range(int(length / step)):
        s = (k + 0.5) * step
        corners = [along(s + ds, v, radius)[0] for ds, v in ((-1.3, -15), (1.3, -15), (1.3, 15), (-1.3, 15))]
        _, heading = along(s, 0.0, radius)
        fill = Fill(hatch=0.8, hatch_angle=heading + 0.8) if k % 5 == 0 else Fill()
        items.append(RegionItem((polyline(corners, closed=True),), fill, Stroke(0.1, grey=0.3), "bars", f"T{k + 1}"))
        if texts:
            at, _ = along(s, 16.0, radius)
            items.append(TextItem(f"{k + 1} · 31 mm", at, 2.0, "labels", heading + math.pi / 2, part=f"T{k + 1}"))
        if k % 9 == 0:
            items.append(MarkItem("cross", along(s, 0.0, radius)[0], 3.0, "marks", heading))
    flowing = CubicSegment(*(along(length * t, v, radius)[0] for t, v in ((0.2, 0), (0.35, 2), (0.5, -9), (0.7, -14))))
    items.append(PathItem((flowing,), Stroke(0.12, (6.0, 1.5, 1.0, 1.5)), "centre", "C"))
    spots = [(name, length * t) for name, t in (("A", 0.2), ("B", 0.45), ("C", 0.6))]
    for name, s in spots:
        at, heading = along(s, -30.0, radius)
        items.append(TextItem(f"point {name}: 9.527°", at, 3.0, "labels", heading, "middle", True, halo=True))
    return Drawing(
        tuple(items),
        tuple(KeepClear(along(s, 0.0, radius)[0], 20.0, 2.0) for _, s in spots),
        tuple(Anchor(name, along(s, 0.0, radius)[0]) for name, s in spots),
    )


def moved(items: Iterable[Item], placement: Placement) -> tuple[Item, ...]:
    from turnout_templates.drawing.place import placed

    return tuple(placed(item, placement) for item in items)


directions = st.floats(-math.pi, math.pi)
bands = st.builds(
    band,
    st.floats(50, 2000),
    width=st.floats(5, 100),
    radius=st.one_of(st.none(), st.floats(350, 3000)),
    turn=directions,
)
forks = st.builds(
    lambda stem, length, turn: (*stem, *band(length, width=40.0, turn=turn)), bands, st.floats(50, 1200), directions
)
names = st.builds(
    TextItem,
    st.text("Abcdefg 0123", min_size=3, max_size=24),
    st.tuples(st.floats(-300, 300), st.floats(-300, 300)),
    st.floats(2, 4),
    st.just("labels"),
    directions,
)
labelled = st.builds(lambda lines, texts: (*lines, *texts), st.one_of(bands, forks), st.lists(names, max_size=6))
discs = st.lists(
    st.builds(KeepClear, st.tuples(st.floats(-300, 300), st.floats(-300, 300)), st.floats(5, 40), st.floats(0.5, 5)),
    max_size=4,
)
drawings = st.builds(lambda items, clear: Drawing(items, tuple(clear)), labelled, discs)


def fine_points(items: Iterable[Item], step: float = 1.5) -> Iterator[Point]:
    """Points of all lines by the formulas of the tests, closer than any the placing looks at."""
    for item in items:
        if isinstance(item, TextItem):
            yield from text_corners(item)
            continue
        for chain in item_chains(item):
            for segment in chain:
                yield from points_along(segment, max(2, math.ceil(rough_length(segment) / step)))


def rough_length(segment: Segment) -> float:
    if isinstance(segment, ArcSegment):
        return abs(segment.sweep) * segment.radius
    legs = [segment.start, segment.end]
    if isinstance(segment, CubicSegment):
        legs[1:1] = [segment.control_1, segment.control_2]
    return sum(math.dist(p, q) for p, q in itertools.pairwise(legs))


def fewest_by_grid(points: list[Point], pages: Iterable[tuple[float, float]], overlap: float) -> int:
    """The sheets of the best upright grid: each page held both ways, offsets by eighths of a sheet, empties dropped."""
    left, bottom = min(x for x, _ in points), min(y for _, y in points)
    counts = []
    for width, height in pages:
        for i in range(8):
            for j in range(8):
                origin = (left - width * i / 8, bottom - height * j / 8)
                counts.append(len(_held_cells(points, origin, width, height, overlap)))
    return min(counts)


def _held_cells(
    points: list[Point], origin: Point, width: float, height: float, overlap: float
) -> set[tuple[int, int]]:
    """The cells of a grid in which some point lies (a point in an overlap lies in two or four)."""
    cells = set()
    for x, y in points:
        u, v = x - origin[0], y - origin[1]
        column, row = math.floor(u / (width - overlap)), math.floor(v / (height - overlap))
        columns = [column, column - 1] if u - column * (width - overlap) <= overlap else [column]
        rows = [row, row - 1] if v - row * (height - overlap) <= overlap else [row]
        cells |= {(c, r) for c in columns for r in rows}
    return cells


def holds_point(frame: Box, point: Point, slack: float = 1e-6) -> bool:
    return (
        frame.left - slack <= point[0] <= frame.right + slack and frame.bottom - slack <= point[1] <= frame.top + slack
    )
