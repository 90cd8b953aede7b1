"""Draw centre lines with their stations, name the routes, and say of each curve how to test it with a straight-edge."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator

from turnout_templates.alignment.model import LaidRoute
from turnout_templates.drafting import styles
from turnout_templates.drafting.labels import Label, LabelRoom, baseline
from turnout_templates.drafting.styles import LABEL_SIZE
from turnout_templates.drawing.bounds import HALO_PADDING
from turnout_templates.drawing.items import Item, MarkItem, PathItem, TextItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.drawing.upright import is_upside_down
from turnout_templates.geometry.flatten import segments_of
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import rectangle
from turnout_templates.trackwork.bench.ordinates import handy_chord, middle_ordinate
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import Unit, format_clearance, format_length

_TICK_EVERY = {"mm": 10.0, "in": 12.7}
_FIGURE_EVERY = {"mm": 100.0, "in": 101.6}
_CAPITAL = 0.67
"""Height of a figure in parts of its size."""
_BESIDE_TICK, _OFF_LINE, _ROWS = 0.8, 0.8, 8
"""How far a figure stands from its tick and from the line at least (mm), and how many rows, 1 mm apart, are tried."""
_ALSO = (0.8, 0.7, 0.6)
"""Where else along it a route may be named, in parts of its length."""
_ALONG_CURVE = (0.35, 0.65, 0.2, 0.8)
"""Where else along a curve its radius may be told, in parts of its length."""
_FROM_END, _NAME_STEP, _NAME_PLACES = 4.0, 3.0, 24
"""How far from a route's end its name ends (mm), how far from one another places for it are, and how many are tried."""
_NAME_PAD, _NAME_RISE = 0.4, 0.62
"""What is kept white before and behind a route's name (mm), and half of its height in parts of its size."""
_FIGURE_TICK, _HAIR = 2.4, 0.1
"""Length of a tick that has a figure, and half of what keeps figures off its line, mm."""


def draw_centre_lines(work: Trackwork, room: LabelRoom) -> Iterator[Item]:
    """Yield each reference line with a tick every 10 mm or half inch and a figure every 100 mm or 4 in."""
    for route in work.layout:
        curve = Parallel(route.path, 0.0, 0.0, route.path.length)
        yield PathItem(segments_of(curve), styles.CENTRE_LINE, styles.CENTRE, route.name)
        yield from _ticks(work, route, room)


def _keep_off_ticks(work: Trackwork, route: LaidRoute, room: LabelRoom) -> None:
    """Keep names, and the figures of other routes, off the ticks that have one."""
    figures, half = _FIGURE_EVERY[work.spec.units], _FIGURE_TICK / 2
    for i in range(1, int(route.path.length / figures) + 1):
        room.track.take(rectangle(route.path.pose_at(i * figures), _HAIR, _HAIR, half, half))


def _ticks(work: Trackwork, route: LaidRoute, room: LabelRoom) -> Iterator[Item]:
    units = work.spec.units
    every, figures = _TICK_EVERY[units], _FIGURE_EVERY[units]
    between = _nearest_rails(route)
    for i in range(1, int(route.path.length / every) + 1):
        station = i * every
        pose = route.path.pose_at(station)
        is_figure = abs(math.remainder(station, figures)) < 1e-6
        size = _FIGURE_TICK if is_figure else 1.0
        yield MarkItem("tick", pose.point, size, styles.CENTRE, pose.heading, styles.STATION_TICK, route.name)
        if is_figure and station < route.path.length - 5.0:
            text = f"{station:.0f}" if units == "mm" else f"{station / 25.4:.0f} in"
            figure = _figure(pose, text, route.name, between, room)
            yield from [figure] if figure else _outside(work, route, pose, text, room)


def _outside(work: Trackwork, route: LaidRoute, pose: Pose, text: str, room: LabelRoom) -> Iterator[Item]:
    """Yield the figure of a station beyond the ties, with a leader to its tick; without room the tick goes without."""
    half = max(gauge.width for gauge in work.spec.gauges.values()) / 2 + work.spec.ties.overhang
    words = f"{text} on {route.name}"
    label = Label(words, pose.point, pose.heading, 1, half + 1.5, 9, styles.STATION_SIZE, part=route.name)
    yield from room.place_if_clean(label)


def _figure(pose: Pose, text: str, part: str, between: tuple[float, float], room: LabelRoom) -> TextItem | None:
    """Return the figure of a station beside its tick, None where it finds no place there.

    It lies `between` the offsets (mm) of the route's own nearest rails: beyond a rail nobody would look for it.
    """
    size, reading = styles.STATION_SIZE, pose.turned(math.pi) if is_upside_down(pose.heading) else pose
    width, height, pad = text_width(text, size), _CAPITAL * size, HALO_PADDING * size
    for ahead, up in _places(width, height):
        sides = (up, up + height) if reading is pose else (-up - height, -up)
        if sides[0] < between[0] or sides[1] > between[1]:
            continue
        start = reading.ahead(ahead).shifted(up)
        outline = rectangle(start, pad, width + pad, pad, height + pad)
        if room.track.is_free(outline):
            room.track.take(outline)
            room.take_name(outline)
            return TextItem(text, start.point, size, styles.CENTRE, reading.heading, "start", halo=True, part=part)
    return None


def _places(width: float, height: float) -> list[tuple[float, float]]:
    """Return where a figure may begin, as mm ahead of its tick and left of the line, the nearest first."""
    ahead = (_BESIDE_TICK, -_BESIDE_TICK - width)
    rows = [_OFF_LINE + k for k in range(_ROWS)]
    return [(start, up) for row in rows for up in (row, -row - height) for start in ahead]


def name_routes(work: Trackwork, room: LabelRoom) -> tuple[list[TextItem], list[Label]]:
    """Return the names of the routes that find room between their rails near their ends, and labels for all others.

    They are longest and go first of what is written amid the track, but for the names of small parts.
    """
    texts: list[TextItem] = []
    labels: list[Label] = []
    for route in work.layout:
        _keep_off_ticks(work, route, room)
    for route in work.layout:
        gauges = " + ".join(dict.fromkeys(g.name for face in route.faces for g in face.gauges))
        name = f"{route.name}: {gauges}"
        text = _between_rails(route, name, _own(work, route), room)
        if text is None:
            labels.append(_route_label(work, route, name))
        else:
            texts.append(text)
    return texts, labels


def _own(work: Trackwork, route: LaidRoute) -> tuple[float, float]:
    """Return the stations between which a route runs on its own: from heel to heel of where it leaves and joins."""
    low, high = 0.0, route.path.length
    for point in (point for switch in work.switches for point in switch.points if switch.branch == route.name):
        if point.owner.route == route.name:
            low, high = (max(low, point.heel), high) if point.way > 0 else (low, min(high, point.heel))
    return low, high


def _between_rails(route: LaidRoute, name: str, own: tuple[float, float], room: LabelRoom) -> TextItem | None:
    """Return a route's name beside its reference line, as near an end as it is free between the nearest rails.

    It stands between the stations `own`, near the end rather than near the start.
    """
    low, high = _nearest_rails(route)
    half, rise = text_width(name, LABEL_SIZE, bold=True) / 2 + _NAME_PAD, _NAME_RISE * LABEL_SIZE
    rows = [_OFF_LINE + rise + k for k in range(_ROWS)]
    for station in _name_stations(*own, half):
        for up in (up for row in rows for up in (row, -row) if low < up - rise and up + rise < high):
            pose = route.path.pose_at(station).shifted(up)
            outline = rectangle(pose, half, half, rise, rise)
            if room.track.is_free(outline):
                room.track.take(outline)
                room.take_name(outline)
                at, angle = (place := baseline(pose, LABEL_SIZE)[0]).point, place.heading
                part, layer = route.name, styles.ROUTE_NAMES
                return TextItem(name, at, LABEL_SIZE, layer, angle, "middle", bold=True, halo=True, part=part)
    return None


def _name_stations(start: float, end: float, half: float) -> Iterator[float]:
    """Yield where the middle of a name of `half` mm to either side may stand, the end first."""
    most = min(_NAME_PLACES, math.floor(((end - start) / 2 - _FROM_END - half) / _NAME_STEP) + 1)
    ways = [_FROM_END + half + k * _NAME_STEP for k in range(most)]
    yield from (end - way for way in ways)
    yield from (start + way for way in ways)


def _nearest_rails(route: LaidRoute) -> tuple[float, float]:
    """Return how far to the left of a route's reference line its rails lie to the right and to the left (mm)."""
    offsets = [face.offset for face in route.faces]
    return max(y for y in offsets if y < 0.0), min(y for y in offsets if y > 0.0)


def _route_label(work: Trackwork, route: LaidRoute, name: str) -> Label:
    """Return the label of a route that finds no room between its rails."""
    half = max(gauge.width for gauge in work.spec.gauges.values()) / 2 + work.spec.ties.overhang
    tied = [tie.station for tie in work.ties if tie.route == route.name]
    first, *more = (max(route.path.length - 8.0, route.path.length * 0.9), *(s * route.path.length for s in _ALSO))
    pose = route.path.pose_at(_between_ties(first, tied))
    places = tuple(route.path.pose_at(_between_ties(station, tied)) for station in more)
    return Label(name, pose.point, pose.heading, 1, half + 9.0, 7, bold=True, part=route.name, elsewhere=places)


def label_curves(work: Trackwork) -> Iterator[Label]:
    """Yield for each curve of the routes its radius and a check ordinate."""
    half = max(gauge.width for gauge in work.spec.gauges.values()) / 2 + work.spec.ties.overhang
    for route in work.layout:
        yield from _curves(work, route, half)


def _between_ties(at: float, ties: list[float]) -> float:
    """Return the station midway between the two ties round another, so that a leader passes between their numbers."""
    after = bisect_left(ties, at)
    return (ties[after - 1] + ties[after]) / 2 if 0 < after < len(ties) else at


def _curves(work: Trackwork, route: LaidRoute, half: float) -> Iterator[Label]:
    for begin, piece in zip(route.path.starts, route.path.pieces, strict=True):
        if piece.kind != "arc":
            continue
        radius = abs(1.0 / piece.from_curvature)
        chord = handy_chord(radius, piece.length, work.spec.units)
        text = f"radius {format_length(radius, work.spec.units)}"
        if chord is not None:
            text += f", {check_ordinate(radius, chord, work.spec.units)}"
        pose = route.path.pose_at(begin + piece.length / 2)
        side = -1 if piece.from_curvature > 0 else 1
        places = tuple(route.path.pose_at(begin + share * piece.length) for share in _ALONG_CURVE)
        yield Label(text, pose.point, pose.heading, side, half + 9.0, 8, part=route.name, elsewhere=places)


def check_ordinate(radius: float, chord: float, unit: Unit) -> str:
    """Return the middle ordinate of a chord in words."""
    ordinate = middle_ordinate(radius, chord)
    return f"chord {format_length(chord, unit)} rises {format_clearance(ordinate, unit)}"
