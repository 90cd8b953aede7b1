"""Random items for the tests of everything that takes a drawing, and points along them by plain parameter."""

import itertools
import math
from collections.abc import Iterator

from hypothesis import strategies as st

from turnout_templates.drawing.items import Fill, Item, MarkItem, PathItem, RegionItem, Stroke, TextItem
from turnout_templates.drawing.marks import SHAPES
from turnout_templates.geometry.pose import Placement, Point
from turnout_templates.geometry.segments import ArcSegment, CubicSegment, LineSegment, Segment, polyline

lengths = st.floats(-2000, 2000, allow_nan=False)
sizes = st.floats(0.5, 50)
angles = st.floats(-7, 7)
points = st.tuples(lengths, lengths)
placements = st.builds(Placement, angles, lengths, lengths)

lines = st.builds(LineSegment, points, points)
arcs = st.builds(ArcSegment, points, st.floats(0.5, 3000), angles, st.floats(-6.28, 6.28).filter(lambda s: s != 0))
cubics = st.builds(CubicSegment, points, points, points, points)
segments = st.one_of(lines, arcs, cubics)

strokes = st.builds(Stroke, st.floats(0.05, 1), st.sampled_from([(), (2.0, 1.0), (3.0,)]), st.floats(0, 0.9))
paths = st.builds(lambda s, k: PathItem((s,), k, "lines", "p"), segments, strokes)
rings = st.lists(points, min_size=3, max_size=6).map(lambda corners: polyline(corners, closed=True))
regions = st.builds(
    lambda ring, fill, stroke: RegionItem((ring,), fill, stroke, "areas"),
    rings,
    st.sampled_from([Fill(), Fill(grey=0.9), Fill(hatch=50.0, hatch_angle=0.3)]),
    st.one_of(st.none(), strokes),
)
texts = st.builds(
    TextItem,
    st.text("ABCxyzgjp 0123½′″°", min_size=1, max_size=12),
    points,
    sizes,
    st.just("labels"),
    angles,
    st.sampled_from(["start", "middle", "end"]),
    st.booleans(),
    st.just(0.0),
    st.booleans(),
)
marks = st.builds(MarkItem, st.sampled_from(sorted(SHAPES)), points, sizes, st.just("marks"), angles)
items: st.SearchStrategy[Item] = st.one_of(paths, regions, texts, marks)


def points_along(segment: Segment, count: int = 64) -> Iterator[Point]:
    """Yield points of a segment by its own formula, ends included."""
    for k in range(count + 1):
        t = k / count
        if isinstance(segment, LineSegment):
            (x, y), (to_x, to_y) = segment.start, segment.end
            yield (x + (to_x - x) * t, y + (to_y - y) * t)
        elif isinstance(segment, ArcSegment):
            angle = segment.start_angle + segment.sweep * t
            x, y = segment.centre
            yield (x + segment.radius * math.cos(angle), y + segment.radius * math.sin(angle))
        else:
            yield _de_casteljau([segment.start, segment.control_1, segment.control_2, segment.end], t)


def _de_casteljau(controls: list[Point], t: float) -> Point:
    while len(controls) > 1:
        controls = [(p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t) for p, q in itertools.pairwise(controls)]
    return controls[0]
