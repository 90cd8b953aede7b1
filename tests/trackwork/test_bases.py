"""Bases of rails: nothing that is left of them overlaps, no head stands on one, and no more is filed than must be."""

from __future__ import annotations

import math
from itertools import pairwise, product

import pytest
import samples
import shapely
from samples import NUMBERED
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from trackwork.base_metal import BaseMetal, base_metal, over
from trackwork.building import THIN, built, is_thin, strip, two_gauge
from trackwork.sites import SITES

from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.trackwork.bases.base_cuts import BaseCut
from turnout_templates.trackwork.bases.bases import AHEAD, CLEARANCE
from turnout_templates.trackwork.bases.materials import material_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import Bar, PointRail

PAIRS = {
    "HO and HOn3": ("HO", "standard: HO, narrow: HOn3", "NMRA S-3.2 (2010)", 1.0),
    "N and Nn3": ("N", "standard: N, narrow: Nn3", "NMRA S-3.2 (2010)", 0.6),
    "O and On30": ("O", "standard: O, narrow: On30", "NMRA S-3.2 (2010)", 2.0),
    "H0 and H0e": ("H0", "standard: H0, narrow: H0e", "MOROP NEM 110 (2009)", 1.0),
}
CODES = ("40", "55", "70", "83", "100")
TWENTY = list(
    product(("both", "wide", "narrow", "parting narrow", "parting wide"), ("left", "right"), ("left", "right"))
)


def crowded(pair: str, code: str, case: str, common: str, hand: str) -> Trackwork:
    """Return one of the twenty two-gauge turnouts in a pair of gauges and a rail code."""
    scale, gauges, clearances, size = PAIRS[pair]
    routes = two_gauge(case, common, hand, length=round(420 * size))
    routes = routes.replace("straight: 80", f"straight: {round(80 * size)}").replace(
        "at: 80", f"at: {round(80 * size)}"
    )
    return built(routes, scale=scale, gauges=gauges, clearances=clearances, rail=f"code {code}")


def fouls(work: Trackwork, metal: list[BaseMetal]) -> list[tuple[str, str, BaseGeometry]]:
    """Return where a flange lies on another part's flange or head: the two parts and what they have in common."""
    tree = shapely.STRtree([part.flanges for part in metal])
    wholes = [part.core.union(part.flanges) for part in metal]
    joined = declared(work)
    found = []
    for i, j in tree.query(wholes, predicate="intersects").T.tolist():
        a, b = metal[j], metal[i]
        if a.part != b.part and frozenset((a.part, b.part)) not in joined:
            for common in shapely.get_parts(a.flanges.intersection(wholes[i])).tolist():
                small = common.area < (CLEARANCE * work.spec.rail.head) ** 2
                if not is_thin(common, 2 * THIN) and not small and not shorter(work, (a, b), common):
                    found.append((a.part, b.part, common))
    return found


def shorter(work: Trackwork, parts: tuple[BaseMetal, BaseMetal], common: BaseGeometry) -> bool:
    """Tell whether a corner is shorter along either part than the clearance, and so is not filed for."""
    return min(_length_along(work, part, common) for part in parts) < CLEARANCE * work.spec.rail.head


def _length_along(work: Trackwork, part: BaseMetal, common: BaseGeometry) -> float:
    """Return how long a region is along a part: beside all of its courses, nothing beside those that end before it."""
    length = 0.0
    for owner, low, high in part.courses:
        path = work.layout.route(owner.route).path
        nearest = (nearest_station(path, tuple(place))[0] for place in shapely.get_coordinates(common).tolist())
        stations = [min(max(station, low), high) for station in nearest]
        length += max(stations) - min(stations)
    return length


def declared(work: Trackwork) -> set[frozenset[str]]:
    """Return the parts that are one bent bar: a wing and the closure rail it goes on from; the elbow of a K."""
    pairs = set()
    frogs = {frog.id: frog for frog in work.frogs}
    ends = [(s.owner, end, bar.id) for bar in work.bars for s in bar.stretches for end in (s.low, s.high)]
    for wing in work.wings:
        frog = frogs[wing.frog]
        nose = frog.noses[(frog.first, frog.second).index(wing.continues)]
        pairs |= {frozenset((wing.id, b)) for owner, end, b in ends if owner == wing.continues and near(end, nose)}
    for frog in work.frogs:
        if frog.kind == "K":
            first = [b for owner, end, b in ends if owner == frog.first and near(end, frog.s)]
            second = [b for owner, end, b in ends if owner == frog.second and near(end, frog.t)]
            pairs |= {frozenset(pair) for pair in product(first, second)}
    return pairs


def near(a: float, b: float | None) -> bool:
    return b is not None and abs(a - b) < 1e-3


@pytest.mark.parametrize("name", NUMBERED)
def test_no_base_lies_on_another_part_in_any_sample(name: str) -> None:
    work = samples.job(name).trackwork
    assert fouls(work, base_metal(work)) == []
    # Without the cuts there would be many, wherever points lie against their stock rails.
    if any(switch.moving_points for switch in work.switches):
        assert fouls(work, base_metal(work, cut=False))


@pytest.mark.parametrize("site", SITES)
def test_no_base_lies_on_another_part_anywhere(site: str) -> None:
    routes, keys = SITES[site]
    work = built(routes, **keys)
    assert fouls(work, base_metal(work)) == []


@pytest.mark.parametrize("code", CODES)
@pytest.mark.parametrize("pair", PAIRS)
def test_no_base_lies_on_another_part_in_two_gauges(pair: str, code: str) -> None:
    """A quarter of the twenty for each pair and code, so that each is met with every pair and with every code."""
    turn = list(PAIRS).index(pair) + CODES.index(code)
    for case, common, hand in TWENTY[turn % 4 :: 4]:
        work = crowded(pair, code, case, common, hand)
        assert fouls(work, base_metal(work)) == [], (case, common, hand)


@pytest.mark.parametrize("radius", [450, 800])
def test_the_relief_of_a_straight_stock_rail_follows_from_circles(radius: float) -> None:
    """A branch on an arc of radius R to the left of straight main: its right rail is a point on the radius R + g/2.

    All from the common centre, R above the main. The stock's face lies R + g/2 below it, its base reaches to
    R + g/2 - o; the point's base reaches out to R + g/2 + h + o. They meet at the half chord of those two circles. The
    point's base stands clear of the stock's head where it meets the stock's face.
    """
    routes = f"""
        main: {{path: [straight: 420]}}
        branch: {{leaves: main, at: 60, path: [{{curve: {{radius: {radius}, turn: left, length: 300}}}}]}}
    """
    work = built(routes)
    rail, reach = work.spec.rail, over(work)
    face = radius + work.spec.gauges["standard"].width / 2
    edge = face + rail.head + reach
    (relief,) = [r for r in work.reliefs if r.beside.route == "main"]
    assert relief.high == pytest.approx(60 + math.sqrt(edge**2 - (face - reach) ** 2), abs=1e-9)
    tip = math.sqrt((face + work.spec.tip) ** 2 - face**2)  # nearly: the tip is measured square to the stock
    assert relief.low == pytest.approx(60 + tip - AHEAD * rail.head, abs=0.01)
    (own,) = [c for c in work.base_cuts if c.part == relief.point_bar and c.side == "outer"]
    assert own.low == relief.point.tip
    assert own.high == pytest.approx(radius * math.asin(math.sqrt(edge**2 - face**2) / edge), abs=1e-9)
    # The stock is relieved to where bases lie side by side, the point to where its base clears the stock's head.
    for station, apart in ((relief.high, rail.base), (60 + math.sqrt(edge**2 - face**2), rail.head + reach)):
        assert math.hypot(face, station - 60) - face == pytest.approx(apart, rel=0.01)


@pytest.mark.parametrize(
    "site", ["plain left", "N and Nn3", "both, common left, left", "three ways", "diamond of 30 degrees"]
)
def test_no_more_is_filed_than_must_be(site: str) -> None:
    """At both ends of every cut the base as rolled, and the clearance about it, lie on what it is cut for."""
    routes, keys = SITES[site]
    work = built(routes, **keys)
    rolled = {part.part: part.core.union(part.flanges) for part in base_metal(work, cut=False)}
    clearance, reliefs = CLEARANCE * work.spec.rail.head, {(r.bar, r.low) for r in work.reliefs}
    reliefs |= {(r.bar, r.high) for r in work.reliefs}
    checked = 0
    closed = (cut for cut in work.base_cuts if "open point" not in cut.why)
    for cut in (cut for cut in closed if cut.part.startswith("R")):
        against = shapely.union_all([rolled[other] for other in cut.against])
        for end, inside in ((cut.low, 0.05), (cut.high, -0.05)):
            if (cut.part, end) in reliefs:
                continue
            sides = (
                (-over(work) - clearance, 0.0)
                if cut.side == "gauge"
                else (0.0, work.spec.rail.base - over(work) + clearance)
            )
            out = cut.beside.face.outward
            probe = strip(work, cut.beside, out * sides[0], out * sides[1], *sorted((end, end + inside)))
            assert probe.distance(against) < 1e-6, (cut, end)
            checked += 1
    assert checked > 3


def test_the_n_nn3_turnout_has_no_room_for_bases() -> None:
    """Code 55, No. 6, by the design: 0.18 mm from third rail to wing head, 0.33 to guard head; bases reach 0.34."""
    routes, keys = SITES["N and Nn3"]
    work = built(routes, **keys)
    head, gauges = work.spec.rail.head, work.spec.gauges
    between = gauges["standard"].width - gauges["narrow"].width
    gaps = {}
    for guide in (*work.wings, *work.guards):
        if guide.beside.face.gauge == "standard":
            gaps[guide.id] = round(between - 2 * head - guide.flangeway, 2)
            assert material_of([cut for cut in work.base_cuts if cut.part == guide.id]) == "strip"
    assert sorted(set(gaps.values())) == [0.18, 0.33] and round(over(work), 2) == 0.34
    assert {name[0]: gap for name, gap in gaps.items()} == {"W": 0.18, "G": 0.33}


def test_material_follows_from_the_room_beside_it() -> None:
    """HO code 70: guards of the wide gauge have room for both bases; those of HOn3 do not on their flangeway side."""
    work = built(two_gauge("both", "left", "left"), gauges="standard: HO, narrow: HOn3")
    seen = set()
    for guard in work.guards:
        cuts = [cut for cut in work.base_cuts if cut.part == guard.id]
        room = guard.flangeway - 2 * over(work) > CLEARANCE * work.spec.rail.head
        assert (not [cut for cut in cuts if cut.side == "gauge"]) == room, guard.id
        seen.add(material_of(cuts))
    assert seen == {"rail", "rail, base filed off on one side", "strip"}


def opened(work: Trackwork, point: PointRail, bar: Bar, throw: float, cuts: list[BaseCut]) -> list[Polygon]:
    """Return the head's inner side and what is left of the gauge side's base of a point bent open by `throw`.

    A bar loaded at the throw bar and held at its fix bends by 1 - 1.5x + 0.5x^3 of the throw.
    """
    (switch,) = [s for s in work.switches if point in s.points]
    (stretch,) = [s for s in bar.stretches if s.owner == point.owner]
    assert switch.bar_station is not None
    path, face = work.layout.route(point.owner.route).path, point.owner.face
    held = min(switch.fix_of(point), abs((stretch.high if point.way > 0 else stretch.low) - point.tip))
    first = abs(switch.bar_station - switch.filed_station)

    def place(u: float, out: float) -> tuple[float, float]:
        x = (u - first) / (held - first)
        moved = throw * (1 - 1.5 * x + 0.5 * x**3)
        return path.point_at(point.tip + point.way * u, face.offset + face.outward * (out - moved))

    def band(out: float, low: float, high: float) -> Polygon:
        us = [low + (high - low) * i / 40 for i in range(41)]
        return Polygon([*(place(u, 0.0) for u in us), *(place(u, out) for u in reversed(us))])

    gone = [(c.low, c.high) for c in cuts if c.part == bar.id and c.side == "gauge" and c.beside == point.owner]
    ends = sorted((s - point.tip) * point.way for pair in gone for s in pair if 0 < (s - point.tip) * point.way < held)
    marks = [0.0, *ends, held]
    left = []
    for low, high in pairwise(marks):
        middle = point.tip + point.way * (low + high) / 2
        if high - low > 0.1 and not any(a < middle < b for a, b in gone):
            left.append(band(-over(work), low, high))
    return [band(0.05 * work.spec.rail.head, 0.0, held), *left]


@pytest.mark.parametrize(
    "site", ["plain left", "N and Nn3", "N and Nn3 away", "both, common left, left", "three gauges"]
)
def test_an_open_point_lies_on_nothing(site: str) -> None:
    """Opened half and whole, what is left of a point's base and its head lie on no other part."""
    routes, keys = SITES[site]
    work = built(routes, **keys)
    metal, joined, checked = base_metal(work), declared(work), 0
    for switch in work.switches:
        for point in switch.moving_points:
            bar = next(b for b in work.bars for s in b.stretches if s.owner == point.owner and s.low == point.tip)
            hand = point.owner.face.hand
            with_it = {p.owner for p in switch.moving_points if p.owner.face.hand == hand} | set(point.outside)
            for share in (0.5, 1.0):
                moved = shapely.union_all(opened(work, point, bar, share * (switch.throw or 0.0), list(work.base_cuts)))
                for part in metal:
                    apart = frozenset((part.part, bar.id)) not in joined and part.part != bar.id
                    if apart and not with_it & {owner for owner, _, _ in part.courses}:
                        common = moved.intersection(part.core.union(part.flanges))
                        assert is_thin(common, 0.03), (bar.id, part.part, share, common.bounds)
                        checked += 1
    assert checked > 10
