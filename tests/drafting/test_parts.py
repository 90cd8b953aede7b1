"""What a drawing shows of each part: everything measured is drawn and named once, and nothing else."""

from __future__ import annotations

import math
import re
from collections import Counter
from fractions import Fraction
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
import shapely
from drafting.drawn import NAMES, drawing, figures, job, lines_of, texts
from paper.samples import along_route, face_points

from turnout_templates.checks.grouping import group_findings
from turnout_templates.drafting import styles
from turnout_templates.drafting.draft import draft_drawing
from turnout_templates.drawing.items import MarkItem, PathItem, RegionItem, TextItem
from turnout_templates.pipeline import work_out
from turnout_templates.spec.load import read_spec

every_drawing = pytest.mark.parametrize("name", NAMES)
EXACT = 0.003
"""mm: outlines are chords within 0.002 mm of the curve that they stand for."""


def said_length(text: str, units: str) -> float:
    """A length as it is written at a tie, in mm: "31.5", or inches as "1 55/64"."""
    return float(text) if units == "mm" else float(sum(Fraction(part) for part in text.split())) * 25.4


@every_drawing
def test_every_tie_is_drawn_with_its_number_and_length_once(name: str) -> None:
    units = job(name).spec.units
    shapes = [item for item in drawing(name).items if isinstance(item, RegionItem) and item.layer == styles.TIES]
    outlines = [item for item in shapes if item.stroke != styles.NOTCH_EDGE]
    assert len(shapes) - len(outlines) == sum(len(tie["notches"]) for tie in figures(name)["ties"])
    written: dict[str, list[TextItem]] = {}
    for text in texts(name, styles.TIE_TEXT):
        written.setdefault(text.part, []).append(text)
    assert len(outlines) == len(written) == len(figures(name)["ties"])
    alone = 0
    for tie, outline, (number, *apart) in zip(figures(name)["ties"], outlines, written.values(), strict=True):
        assert isinstance(outline, RegionItem) and outline.part == number.part == f"tie {tie['id']}"
        assert_is_tie(outline, tie)
        said, _, length = " · ".join(text.text for text in (number, *apart)).partition(" · ")
        assert said == tie["id"]
        for text in (number, *apart):
            if text.halo or apart:  # no room beside it: it stands on the tie
                assert text.halo and shapely.Polygon(box_of(outline)).contains(shapely.Point(text.at))
        if not length:
            alone += 1
            continue
        # Rounded for reading: to a tenth of a mm, or to 1/64 in.
        assert abs(said_length(length, units) - tie["length_mm"]) <= (0.05 if units == "mm" else 25.4 / 128) + 1e-9
        # Else at one of its ends, so that nobody takes it for another tie's.
        near = (tie["x_mm"], tie["y_mm"])
        assert number.halo or tie["length_mm"] / 2 < math.dist(near, number.at) < tie["length_mm"] / 2 + 20.0
    assert alone <= 0.002 * len(outlines)


def box_of(outline: RegionItem) -> list[tuple[float, float]]:
    (ring,) = outline.rings
    return [segment.start for segment in ring]


def assert_is_tie(outline: RegionItem, tie: dict[str, Any]) -> None:
    (ring,) = outline.rings
    box = shapely.Polygon(box_of(outline))
    assert box.area == pytest.approx(tie["length_mm"] * tie["width_mm"])
    assert box.centroid.coords[0] == pytest.approx((tie["x_mm"], tie["y_mm"]))
    long = max(ring, key=lambda segment: math.dist(segment.start, segment.end))
    angle = math.atan2(long.end[1] - long.start[1], long.end[0] - long.start[0])
    assert abs(math.sin(angle - math.radians(tie["angle_deg"]))) < 1e-9
    assert (outline.fill.hatch is not None) == (tie["material"] == "copper-clad")
    heavy = outline.stroke is not None and outline.stroke.width >= 2 * styles.TIE_EDGE.width
    assert heavy == (tie["role"] == "headblock")


BEGINNINGS = {
    "points": ("tangent point", "point of switch"),
    "fixed": ("tangent point, fixed separation",),
    "stub": ("fixed end, stub",),
}


@every_drawing
def test_every_frog_switch_and_guard_is_named_once(name: str) -> None:
    said = Counter(words.text.split(", see finding")[0] for words in texts(name, styles.LABELS))
    for frog in figures(name)["frogs"]:
        kind = " K" if frog["kind"] == "K" else ""
        degrees = f"{frog['angle_deg']:.3f}".rstrip("0").rstrip(".")
        assert said[f"{frog['id']}{kind} No. {frog['number']:.2f}, {degrees} deg"] == 1
    for switch in figures(name)["switches"]:
        (text, *bars) = sorted(
            (text for text in said if text.startswith(f"{switch['id']} ")), key=lambda text: "throw bar" in text
        )
        assert said[text] == 1 and text.split(" ", 1)[1] in BEGINNINGS[switch["switching"]]
        thrown = [] if switch["throw_mm"] is None else [switch["throw_mm"]]
        assert [said_clearance(bar.split("throw ")[-1]) for bar in bars] == pytest.approx(thrown, abs=0.0128)
    points = sum(switch["points"] for switch in figures(name)["switches"])
    # Marks of one name that lie side by side share a label.
    assert all(bool(points) <= said[words] <= points for words in ("filed tip", "full head", "heel"))
    fixed = sum(len(s["fixed_rails"]) for s in figures(name)["switches"] if s["switching"] == "fixed")
    stubs = [s for s in figures(name)["switches"] if s["switching"] == "stub"]
    assert said["toe"] == said["fixed end"] == len(stubs)
    assert len([text for text in said.elements() if text.startswith("rails swing over ")]) == len(stubs)
    assert said["fixed rail begins"] == said["flange leaves the stock rail"] == fixed
    for guard in figures(name)["guards"]:
        (text,) = (text for text in said if text.startswith(f"{guard['id']} flangeway "))
        flangeway, _, strip = text.split("flangeway ")[1].partition(", ")
        assert said_clearance(flangeway) == pytest.approx(guard["flangeway_mm"], abs=0.0128)
        assert (strip == "strip") == (guard["material"] == "strip")


@every_drawing
def test_every_point_has_a_mark_where_it_springs_from_or_turns(name: str) -> None:
    """The tick lies on the gauge face, at the station that the figures give, and its label begins there."""
    done = job(name).trackwork
    said = [words.text for words in texts(name, styles.LABELS)]
    ticks = shapely.MultiPoint([i.at for i in drawing(name).items if isinstance(i, MarkItem) and i.shape == "tick"])
    starts = {i.segments[0].start for i in drawing(name).items if isinstance(i, PathItem) and i.layer == styles.LEADERS}
    for point in (point for switch in figures(name)["switches"] for point in switch["point_rails"]):
        word = "turns here" if point["held"] == "hinged" else "springs here"
        route = done.layout.route(point["route"])
        (face,) = (f for f in route.faces if (f.gauge, f.hand) == (point["gauge"], point["hand"]))
        at = route.path.point_at(point["fix_station_mm"], face.offset)
        assert ticks.distance(shapely.Point(at)) < 1e-6
        assert min(math.dist(at, start) for start in starts) < 1e-6
        bars = [rail["id"] for rail in figures(name)["rails"] if _begins_at(rail, point)]
        assert [text for text in said if any(text.startswith(f"{bar} {word}") for bar in bars)]


def _begins_at(bar: dict[str, Any], point: dict[str, Any]) -> bool:
    """Whether a bar on the point's face ends at its filed tip."""
    tip = (point["tip"]["x_mm"], point["tip"]["y_mm"])
    own = [piece for piece in bar["pieces"] if all(piece[key] == point[key] for key in ("route", "gauge", "hand"))]
    places = [(piece[end]["x_mm"], piece[end]["y_mm"]) for piece in own for end in ("start", "end")]
    return any(math.dist(place, tip) < 0.01 for place in places)


@every_drawing
def test_every_finding_is_flagged_once_where_it_arises(name: str) -> None:
    """Findings of one place or that say the same of several share a number, as on the list of findings."""
    told = [words for words in texts(name) if words.layer in (styles.LABELS, styles.FINDINGS)]
    leaders = [i for i in drawing(name).items if isinstance(i, PathItem) and i.layer == styles.LEADERS]
    flags = [
        (words.layer, leader.segments[0].start, words.text.split("see finding ")[1])
        for words, leader in zip(told, leaders, strict=True)
        if "see finding " in words.text
    ]
    numbers = [number for _, _, said in flags for number in said.split(", ")]
    places = {str(k): group.places for k, group in enumerate(group_findings(job(name).findings), start=1)}
    assert Counter(numbers) == Counter({number: len(at) for number, at in places.items()})
    assert {at for every in places.values() for at in every} == {
        (f["x_mm"], f["y_mm"]) for f in figures(name)["findings"]
    }
    for layer, start, said in flags:
        # A label that speaks of a place within a millimetre of the finding's tells of it too.
        away = {number: min(math.dist(start, at) for at in places[number]) for number in said.split(", ")}
        assert all(far < (1.0 if layer == styles.LABELS else 1e-9) for far in away.values()), (said, away)


def said_clearance(text: str) -> float:
    """A small length as it is written, in mm: to a hundredth of a mm or a thousandth of an inch."""
    number, unit = text.split()
    return float(number) * (25.4 if unit == "in" else 1.0)


@every_drawing
def test_every_route_is_named_and_its_curves_can_be_tested(name: str) -> None:
    said = [words.text for words in texts(name, styles.LABELS)]
    arcs, lengths = [], []
    for route, laid in figures(name)["routes"].items():
        assert sum(words.text.startswith(f"{route}: ") for words in texts(name)) == 1
        bent = [piece for piece in laid["pieces"] if piece["kind"] == "arc"]
        arcs += [abs(piece["radius_mm"]) for piece in bent]
        lengths += [piece["length_mm"] for piece in bent]
    labels = [text for text in said if text.startswith("radius ")]
    assert len(labels) == len(arcs)
    tested = 0
    for text in labels:
        radius = _mm(re.findall(r"radius (.+?(?:mm|in))(?:,|$)", text)[0])
        true = min(arcs, key=lambda arc: abs(arc - radius))
        assert abs(true - radius) <= 25.4 / 128 + 1e-9
        for chord, rise in re.findall(r"chord (.+) rises (.+)", text):
            # r - sqrt(r^2 - c^2/4): the sagitta of a chord, from the right triangle of radius and half a chord.
            half = _mm(chord) / 2
            assert _mm(rise) == pytest.approx(true - math.sqrt(true * true - half * half), abs=0.0128)
            tested += 1
    # Over half of an arc its rise must be one that can be read: 0.01 in, by c^2 / 8 r.
    assert tested or all((length / 2) ** 2 / (8 * radius) < 0.254 for radius, length in zip(arcs, lengths, strict=True))


def _mm(text: str) -> float:
    *parts, unit = text.split()
    return float(sum(Fraction(part) for part in parts)) * (25.4 if unit == "in" else 1.0)


@every_drawing
def test_faces_are_the_firmest_lines_and_belong_to_their_rails(name: str) -> None:
    firm = [item for item in drawing(name).items if isinstance(item, PathItem) and item.stroke == styles.FACE]
    assert {item.part for item in firm} == {rail["id"] for rail in figures(name)["rails"]}
    for item in drawing(name).items:
        if isinstance(item, PathItem) and item.stroke != styles.FACE:
            assert item.stroke.width < styles.FACE.width and (item.layer != styles.RAILS or item.stroke == styles.EDGE)


@every_drawing
def test_each_piece_wing_and_joint_is_named_once_and_nothing_else_is(name: str) -> None:
    told = [part["id"] for kind in ("pieces", "wings", "joints") for part in figures(name)[kind]]
    assert len(set(told)) == len(told)
    # A label may tell a joint and the short piece that ends there.
    an_id = re.compile(r"(R|W|J|IG|E)[0-9]+[a-z]*(/[0-9]+)?")
    shared = [words.text.split(", ") for words in texts(name)]
    named = Counter(part for parts in shared if all(map(an_id.fullmatch, parts)) for part in parts)
    assert named == Counter(told)


@every_drawing
def test_each_name_of_a_rail_stands_beside_that_rail_or_has_a_leader_from_it(name: str) -> None:
    faces = {piece["id"]: _face_line(name, piece["stretches"]) for piece in figures(name)["pieces"]}
    faces |= {wing["id"]: shapely.LinearRing(wing["outline"]) for wing in figures(name)["wings"]}
    faces |= {joint["id"]: shapely.Point(joint["x_mm"], joint["y_mm"]) for joint in figures(name)["joints"]}
    head = job(name).spec.rail.head
    labels = [words for words in texts(name) if words.layer in (styles.LABELS, styles.FINDINGS)]
    leaders = [item for item in drawing(name).items if item.layer == styles.LEADERS]
    for words, leader in zip(labels, leaders, strict=True):
        for part in words.text.split(", "):
            if part in faces and isinstance(leader, PathItem):
                wings = [wing for wing in job(name).trackwork.wings if wing.id == part]
                reach = wings[0].flangeway if wings else head / 2 if part[0] in "JIE" else 0.0
                reach += 5.0 if ", " in words.text else 0.0  # a short piece that shares the label of its joint
                assert shapely.Point(leader.segments[0].start).distance(faces[part]) < reach + EXACT, part
    for words in texts(name):
        if words.text in faces and words.layer in (styles.JOINTS, styles.RAIL_NAMES):
            away = shapely.Point(words.at).distance(faces[words.text])
            reach = 2.0 * styles.RAIL_NAME_SIZE if words.layer == styles.RAIL_NAMES else 5.0
            assert away < 1.8 * head + reach, words.text


@every_drawing
def test_rails_are_marked_across_at_each_joint_gap_and_end(name: str) -> None:
    """One line at a joint and at an end, two at a gap as far apart as it is wide; all square to the gauge face."""
    head = job(name).spec.rail.head
    marks: dict[str, list[Any]] = {}
    for item in drawing(name).items:
        if item.layer == styles.JOINTS and isinstance(item, PathItem):
            marks.setdefault(item.part, []).extend(lines_of(item))
    assert set(marks) == {joint["id"] for joint in figures(name)["joints"]}
    for joint in figures(name)["joints"]:
        at = shapely.Point(joint["x_mm"], joint["y_mm"])
        lines = marks[joint["id"]]
        width = joint["width_mm"] or 0.0
        assert len(lines) == (2 if joint["kind"] == "gap" else 1)
        for line in lines:
            assert line.length > 2 * head and line.distance(at) == pytest.approx(width / 2, abs=EXACT)
        if joint["kind"] == "gap":
            assert lines[0].distance(lines[1]) == pytest.approx(width, abs=1e-6)
        face = job(name).trackwork.layout.route(joint["route"]).path.heading_at(joint["station_mm"])
        (x, y), (to_x, to_y) = lines[0].coords[0], lines[0].coords[-1]
        assert abs((to_x - x) * math.cos(face) + (to_y - y) * math.sin(face)) < 1e-6


def _face_line(name: str, stretches: list[dict[str, Any]]) -> Any:
    key = ("route", "gauge", "hand")
    offsets = {tuple(p[k] for k in key): p["offset_mm"] for rail in figures(name)["rails"] for p in rail["pieces"]}
    stretches = [{**stretch, "offset_mm": offsets[tuple(stretch[k] for k in key)]} for stretch in stretches]
    return shapely.MultiLineString([face_points(figures(name), stretch, 200) for stretch in stretches])


@every_drawing
def test_guards_are_drawn_where_they_were_measured_and_nowhere_else(name: str) -> None:
    work = job(name).trackwork
    guides = [item for item in drawing(name).items if item.layer == styles.GUIDES]
    guards = {item.part: item for item in guides if not item.part.endswith(" wing")}
    assert set(guards) == {guard["id"] for guard in figures(name)["guards"]}
    assert Counter(item.part for item in guides if item.part.endswith(" wing")) == Counter(
        f"{wing.frog} wing" for wing in work.wings
    )
    assert len(guides) == len(work.wings) + len(guards)
    for guard in figures(name)["guards"]:
        (outline,) = lines_of(guards[guard["id"]])
        assert_guides(name, outline, guard)
        fixed = {switch["id"] for switch in figures(name)["switches"] if switch["switching"] == "fixed"}
        assert guard["guards"] in {frog["id"] for frog in figures(name)["frogs"]} | fixed


def assert_guides(name: str, outline: Any, guard: dict[str, Any]) -> None:
    """The guiding side runs at the flangeway over the straight part, inside the gauge, and flares to the ends."""
    route = figures(name)["routes"][guard["beside"]["route"]]
    face = next(
        face
        for face in job(name).layout.route(guard["beside"]["route"]).faces
        if (face.gauge, face.hand) == (guard["beside"]["gauge"], guard["beside"]["hand"])
    )
    inward = -1.0 if face.hand == "left" else 1.0
    side = face.offset + inward * guard["flangeway_mm"]
    straight = along_route(route, np.linspace(*guard["straight"], 50), side)
    assert shapely.distance(outline, shapely.points(straight)).max() < EXACT
    # Nothing of it comes nearer to the face, and the whole is as long as its ends say.
    near = along_route(route, np.linspace(*guard["ends"], 200), face.offset)
    assert outline.distance(shapely.LineString(near)) > guard["flangeway_mm"] - EXACT
    for end, other in (guard["ends"], guard["ends"][::-1]):
        if end not in guard["straight"]:
            flared = along_route(route, [end], side)[0]
            inner = along_route(route, [other], side)[0]
            beyond = np.array(flared) + (flared - inner) / np.linalg.norm(flared - inner) * 0.05
            # A flare opens 0.8 mm in 10 (common practice, no source).
            length = min(abs(end - straight) for straight in guard["straight"])
            assert outline.distance(shapely.Point(flared)) < 0.08 * length + EXACT
            assert shapely.Polygon(outline).distance(shapely.Point(beyond)) > 0.0


@every_drawing
def test_frogs_are_marked_and_points_ticked(name: str) -> None:
    marks = [item for item in drawing(name).items if isinstance(item, MarkItem)]
    crosses = [item for item in marks if item.layer == styles.FROGS and item.shape == "cross"]
    assert [(item.part, item.at) for item in crosses] == [
        (frog["id"], (frog["x_mm"], frog["y_mm"])) for frog in figures(name)["frogs"]
    ]
    rings = [item.at for item in marks if item.layer == styles.FROGS and item.shape == "ring"]
    practical = [frog["practical"] for frog in figures(name)["frogs"] if frog["practical"]]
    assert rings == [(point["x_mm"], point["y_mm"]) for point in practical]
    noses = [nose for frog in figures(name)["frogs"] for nose in frog["noses"] if nose]
    ticks = [item.at for item in marks if item.layer == styles.FROGS and item.shape == "tick"]
    assert ticks == [(nose["x_mm"], nose["y_mm"]) for nose in noses]
    switch_ticks = [item.at for item in marks if item.layer == styles.POINTS and item.shape == "tick"]
    for switch in figures(name)["switches"]:
        assert (switch["tip"]["x_mm"], switch["tip"]["y_mm"]) in switch_ticks
        for point in switch["point_rails"]:
            assert (point["tip"]["x_mm"], point["tip"]["y_mm"]) in switch_ticks
        for rail in switch["fixed_rails"]:
            assert (rail["begin"]["x_mm"], rail["begin"]["y_mm"]) in switch_ticks
    # For each switch its own tip; for each of its points filed tip, full head, heel and spring; for others two places.
    marked = sum(1 + 4 * len(s["point_rails"]) + 2 * len(s["fixed_rails"]) for s in figures(name)["switches"])
    assert len(switch_ticks) == marked


@every_drawing
def test_layers_come_in_their_order(name: str) -> None:
    order = [styles.LAYERS.index(item.layer) for item in drawing(name).items]
    assert order == sorted(order)


def test_every_layer_is_used() -> None:
    assert {item.layer for name in NAMES for item in drawing(name).items} == set(styles.LAYERS)


@every_drawing
def test_ink_is_light_and_no_line_is_told_by_tint_alone(name: str) -> None:
    for item in drawing(name).items:
        if isinstance(item, RegionItem):
            assert item.fill.grey is None or item.fill.grey >= 0.75
            assert item.fill.hatch is None or item.fill.hatch >= 1.0
        elif isinstance(item, TextItem):
            assert item.grey <= 0.3 and item.size >= 1.5
        else:
            assert item.stroke.width >= 0.05 and item.stroke.grey <= 0.4
    looks = {
        (item.stroke.width, item.stroke.dash)
        for item in drawing(name).items
        if isinstance(item, PathItem) and item.layer in (styles.RAILS, styles.CENTRE)
    }
    assert len(looks) == 3  # face, edge and centre line


@every_drawing
def test_stations_are_ticked_and_figured(name: str) -> None:
    every, figured = {"mm": (10.0, 100.0), "in": (12.7, 101.6)}[job(name).spec.units]
    for route, laid in figures(name)["routes"].items():
        stations = np.arange(every, laid["length_mm"] + 1e-9, every)
        ticks = [
            i for i in drawing(name).items if isinstance(i, MarkItem) and (i.layer, i.part) == ("centre lines", route)
        ]
        assert len(ticks) == len(stations)
        places = along_route(laid, stations, 0.0)
        assert np.abs(np.array([tick.at for tick in ticks]) - places).max(initial=0.0) < 1e-6
        long = [tick.size > 2.0 for tick in ticks]
        assert long == [abs(math.remainder(station, figured)) < 1e-6 for station in stations]
        for words in texts(name, styles.CENTRE):
            if words.part == route:
                # The figure stands near the tick it speaks of, and nearer to it than to any other of that route.
                own = float(words.text.removesuffix(" in")) * (25.4 if "in" in words.text else 1.0)
                middles = np.array([tick.at for tick, is_long in zip(ticks, long, strict=True) if is_long])
                nearest = stations[long][np.linalg.norm(middles - words.at, axis=1).argmin()]
                assert nearest == pytest.approx(own)


def long_track(metres: float) -> str:
    return (
        "spec: 1\nname: Long\nunits: mm\nscale: HO\nroutes:\n  main:\n    path:\n"
        f"      - curve: {{radius: 3000, turn: left, length: {1000 * metres:g}}}\n"
    )


def yard(turnouts: int) -> str:
    text = (
        f"spec: 1\nname: Yard\nunits: mm\nscale: HO\nroutes:\n  main:\n    path:\n      - straight: {400 * turnouts}\n"
    )
    for k in range(turnouts):
        text += f"  track {k}:\n    leaves: main\n    at: {50 + 400 * k}\n    hand: left\n    path:\n      - frog: 6\n"
    return text


def count(text: str) -> int:
    found = work_out(read_spec(text, file="made.yaml", folder=None))
    return len(draft_drawing(found.trackwork, found.findings).items)


def test_work_is_linear_in_length_and_in_turnouts() -> None:
    lengths = [count(long_track(metres)) for metres in (1.0, 2.0, 4.0)]
    # HO ties are some 6 to 7 mm apart and are three items each, outline, number and the gap in their copper; a metre
    # adds 100 ticks, 10 figures, and no line.
    assert lengths[0] < 670
    assert lengths[2] - lengths[1] == pytest.approx(2 * (lengths[1] - lengths[0]), rel=0.02)
    yards = [count(yard(turnouts)) for turnouts in (1, 2, 4)]
    # A turnout adds its gaps, feeders and the names of its pieces, about a hundred items.
    assert yards[0] < 520
    assert yards[2] - yards[1] == pytest.approx(2 * (yards[1] - yards[0]), rel=0.05)


@every_drawing
def test_seams_are_told_to_spare_frogs_and_points_and_places_have_names(name: str) -> None:
    discs = {disc.at: disc for disc in drawing(name).keep_clear}
    anchors = {anchor.name: anchor.at for anchor in drawing(name).anchors}
    for frog in figures(name)["frogs"]:
        at = (frog["x_mm"], frog["y_mm"])
        assert anchors[frog["id"]] == at
        # As far as from the theoretical point to where the V has a whole head, and more.
        full_head = job(name).spec.rail.head / (2 * math.sin(math.radians(frog["angle_deg"]) / 2))
        assert full_head < discs[at].radius < 10 * full_head + 10.0
    for switch in figures(name)["switches"]:
        assert (switch["filed_tip"]["x_mm"], switch["filed_tip"]["y_mm"]) in discs
        assert any(anchor.startswith(switch["id"]) for anchor in anchors)
    weights = {disc.weight for disc in discs.values()}
    assert len(discs) == len({*figures_places(name)}) and all(weight > 0 for weight in weights)
    assert all(low <= high for low, high in pairwise(sorted(weights)))


def figures_places(name: str) -> list[tuple[float, float]]:
    places = [(frog["x_mm"], frog["y_mm"]) for frog in figures(name)["frogs"]]
    return places + [(s["filed_tip"]["x_mm"], s["filed_tip"]["y_mm"]) for s in figures(name)["switches"]]
