"""Turn the items of a drawing into pieces small enough to be picked one by one for the views that they touch.

A path that runs over many pages is taken apart between its segments and along its arcs, so that no page carries more
of it than it shows. Dashes go on from piece to piece: each piece knows the length that went before it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import overload

from msgspec import Struct

from turnout_templates.drawing.bounds import Box, item_bounds, points_box, segments_box
from turnout_templates.drawing.items import Item, MarkItem, PathItem, TextItem
from turnout_templates.drawing.place import placed
from turnout_templates.geometry.segments import ArcSegment, CubicSegment, LineSegment, Segment
from turnout_templates.sheets.pages import View

SURVEY_LINE, SURVEY_EDGE = 0.12, 0.05
"""Width of lines and of the edges of areas in a view that is reduced, mm on the page."""
SURVEY_EDGE_GREY = 0.5
PIECE_LENGTH = 120.0
"""Length of line, mm, after which a piece is ended: about half a sheet."""
CELL = 100.0
"""Side of the squares by which pieces are found, mm."""
_WIDE = 400
"""Number of squares above which a piece is looked at for every view instead."""
ARC_STEP = math.radians(22.5)
"""Longest arc that is drawn as one cubic: within 1 um at a radius of 15 m."""
TANGENT = 1e-4
"""Greatest bend, rad, at which a path may be taken apart without a notch that could be seen."""
EDGE_SLACK = 1e-6
"""How far a text may reach out of a view and still count as whole in it, mm: rounding, nothing more."""


class Piece(Struct, frozen=True):
    """An item or a part of a path: the `box` of its geometry, and the length of line `before` it for its dashes."""

    item: Item
    box: Box
    before: float = 0.0


class Pieces(Sequence[Piece]):
    """The pieces of a drawing in drawing order, kept by the squares of `CELL` mm that they lie in.

    So each of many sheets asks a few squares, and the work grows with the drawing and not with its square.
    """

    def __init__(self, pieces: Iterable[Piece]) -> None:
        self._pieces = list(pieces)
        self._cells: dict[tuple[int, int], list[int]] = {}
        self._wide: list[int] = []
        for index, piece in enumerate(self._pieces):
            columns, rows = _cells(piece.box)
            if len(columns) * len(rows) > _WIDE:
                self._wide.append(index)
                continue
            for column in columns:
                for row in rows:
                    self._cells.setdefault((column, row), []).append(index)

    def __len__(self) -> int:
        return len(self._pieces)

    @overload
    def __getitem__(self, index: int) -> Piece: ...

    @overload
    def __getitem__(self, index: slice) -> Sequence[Piece]: ...

    def __getitem__(self, index: int | slice) -> Piece | Sequence[Piece]:
        return self._pieces[index]

    def near(self, box: Box) -> Iterable[int]:
        """Return the indices, in order, of all pieces that may touch `box` (mm of the drawing), and of some others."""
        columns, rows = _cells(box)
        if len(columns) * len(rows) >= len(self._cells):
            return range(len(self._pieces))
        found = {index for column in columns for row in rows for index in self._cells.get((column, row), ())}
        return sorted(found.union(self._wide))


def _cells(box: Box) -> tuple[range, range]:
    """Return the columns and rows of the squares that `box` touches; raises ValueError where it is not finite."""
    if not math.isfinite(box.left + box.bottom + box.right + box.top):
        raise ValueError(f"What lies at {box} cannot be drawn.")
    return (
        range(math.floor(box.left / CELL), math.floor(box.right / CELL) + 1),
        range(math.floor(box.bottom / CELL), math.floor(box.top / CELL) + 1),
    )


def cut_to_pieces(items: Iterable[Item]) -> Pieces:
    """Return the pieces of all items, in drawing order."""
    return Pieces(piece for item in items for piece in _item_pieces(item))


def _item_pieces(item: Item) -> Iterator[Piece]:
    if not isinstance(item, PathItem):
        yield Piece(item, item_bounds(item))
        return
    before = 0.0
    for segments in _runs(item.segments):
        part = item if segments == item.segments else _part(item, segments)
        yield Piece(part, segments_box(segments), before)
        if item.stroke.dash:
            before += sum(map(segment_length, segments))


def _part(item: PathItem, segments: tuple[Segment, ...]) -> PathItem:
    return PathItem(segments, item.stroke, item.layer, item.part)


def _runs(segments: tuple[Segment, ...]) -> Iterator[tuple[Segment, ...]]:
    """Yield runs of segments of about `PIECE_LENGTH`, parted only where the line goes straight on."""
    run: list[Segment] = []
    length = 0.0
    parted = [part for segment in segments for part in _parted_arc(segment)]
    for segment, following in pairwise([*parted, None]):
        assert segment is not None
        run.append(segment)
        length += segment_length(segment)
        if following is None or (length >= PIECE_LENGTH and _goes_on(segment, following)):
            yield tuple(run)
            run, length = [], 0.0


def _parted_arc(segment: Segment) -> Iterator[Segment]:
    """Yield a long arc in parts of equal length, and any other segment as it is."""
    count = 1
    if isinstance(segment, ArcSegment):
        count = max(1, round(segment_length(segment) / PIECE_LENGTH))
    if count == 1 or not isinstance(segment, ArcSegment):
        yield segment
        return
    sweep = segment.sweep / count
    for k in range(count):
        yield ArcSegment(segment.centre, segment.radius, segment.start_angle + k * sweep, sweep)


def segment_length(segment: Segment) -> float:
    """Return the length of a segment in mm (of a cubic: of its control legs, which is never less)."""
    if isinstance(segment, LineSegment):
        return math.dist(segment.start, segment.end)
    if isinstance(segment, ArcSegment):
        return abs(segment.sweep) * segment.radius
    legs = (segment.start, segment.control_1, segment.control_2, segment.end)
    return sum(math.dist(p, q) for p, q in pairwise(legs))


def _goes_on(segment: Segment, following: Segment) -> bool:
    bend = _heading(segment, at_end=True) - _heading(following, at_end=False)
    return abs(math.remainder(bend, math.tau)) < TANGENT


def _heading(segment: Segment, *, at_end: bool) -> float:
    """Return the direction of a segment at one of its ends, radians."""
    if isinstance(segment, ArcSegment):
        angle = segment.start_angle + (segment.sweep if at_end else 0.0)
        return angle + math.copysign(math.pi / 2, segment.sweep)
    points = [segment.start, segment.end]
    if isinstance(segment, CubicSegment):
        points[1:1] = [segment.control_1, segment.control_2]
    ahead = pairwise(points[::-1]) if at_end else pairwise(points)
    for p, q in ahead:
        if p != q:
            first, second = (q, p) if at_end else (p, q)
            return math.atan2(second[1] - first[1], second[0] - first[0])
    return 0.0


def arc_cubics(arc: ArcSegment) -> Iterator[CubicSegment]:
    """Yield the cubics that draw an arc, none longer than `ARC_STEP`."""
    count = max(1, math.ceil(abs(arc.sweep) / ARC_STEP - 1e-9))
    step = arc.sweep / count
    reach = 4.0 / 3.0 * math.tan(step / 4) * arc.radius
    for k in range(count):
        start, end = arc.start_angle + k * step, arc.start_angle + (k + 1) * step
        (x, y), (to_x, to_y) = arc.point_at(start), arc.point_at(end)
        yield CubicSegment(
            (x, y),
            (x - reach * math.sin(start), y + reach * math.cos(start)),
            (to_x + reach * math.sin(end), to_y - reach * math.cos(end)),
            (to_x, to_y),
        )


def shown_in(view: View, pieces: Pieces) -> Iterator[int]:
    """Yield the indices of the pieces to be drawn in `view`: those it touches, texts and marks only where whole."""
    cosine, sine = math.cos(view.placement.turn), math.sin(view.placement.turn)
    wide, high = abs(cosine) * view.scale / 2, abs(sine) * view.scale / 2
    clip, survey = view.clip, view.scale != 1.0
    whole_in = (view.texts or clip).grown(EDGE_SLACK)
    for index in pieces.near(_window_in_drawing(view)):
        piece = pieces[index]
        box = piece.box
        x, y = view.page_point(((box.left + box.right) / 2, (box.bottom + box.top) / 2))
        half_x = (box.right - box.left) * wide + (box.top - box.bottom) * high
        half_y = (box.right - box.left) * high + (box.top - box.bottom) * wide
        if x - half_x > clip.right or x + half_x < clip.left or y - half_y > clip.top or y + half_y < clip.bottom:
            continue
        if isinstance(piece.item, TextItem | MarkItem) and (survey or not whole_in.holds(_page_box(piece.item, view))):
            continue
        yield index


def _window_in_drawing(view: View) -> Box:
    """Return the upright box, mm of the drawing, round what a view shows."""
    back = view.placement.inverse()
    corners = [back.apply(corner) for corner in view.clip.corners]
    return points_box((x / view.scale, y / view.scale) for x, y in corners)


def _page_box(item: TextItem | MarkItem, view: View) -> Box:
    """Return the tight box of a text or mark on the page."""
    return item_bounds(placed(item, view.placement))
