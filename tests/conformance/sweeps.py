"""Sweep the metal of a spec: what lies on what, what stands in the way of a flange, where nothing carries a wheel.

Each sweep yields sentences, none when all is well, so that a planted fault can be told from a clean sheet by its words.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from .metal import COINCIDE, ROUNDING, Item, Metal, is_metal, size_of, without
from .running_faces import Face, key_of
from .tracing import Figures

NEAR_FACE = 0.005
"""How deep (mm) in a head its own face is looked for."""
TAKES_OVER = (NEAR_FACE, 0.05, 0.1, 0.2)
"""How deep (mm) a tread is looked for where another rail carries it; any of these will do. Between the point of a V and
its splice the other bar's filed side is the face; before a filed tip the stock rail lies up to the tip's thickness away
(0.1 mm is usual, 1/4 in of the prototype in O is 0.13 mm)."""
NEAR_END = 0.25
"""How near (mm) to the end of a face nothing is asked: cut by a flangeway at 2.5 degrees, a head ends that much sooner
NEAR_FACE deep than at its face."""
LOOKS_EVERY = 0.25  # mm along a face: shorter than any gap of a frog


# Heads on heads ---------------------------------------------------------------------------------------------------


def heads_on_heads(metal: Metal) -> Iterator[str]:
    """Yield each pair of pieces of metal that lie on each other and are not declared to touch there."""
    items = metal.items
    spots = declared(metal)
    tree = shapely.STRtree([item.region for item in items])
    first, second = tree.query([item.region for item in items], predicate="intersects")
    for i, j in sorted((int(a), int(b)) for a, b in zip(first, second, strict=True) if a < b):
        a, b = items[i], items[j]
        common = a.region.intersection(b.region).difference(spots.get(frozenset((a.id, b.id)), Point()))
        if is_metal(common):
            yield f"{a.id} lies on {b.id}: {size_of(common)}"


def declared(metal: Metal) -> dict[frozenset[str], BaseGeometry]:
    """Return where two pieces of metal, by their ids, are declared to touch."""
    found: dict[frozenset[str], list[BaseGeometry]] = {}
    for ids, x, y, reach in contacts(metal):
        found.setdefault(frozenset(ids), []).append(Point(x, y).buffer(reach))
    return {ids: shapely.union_all(spots) for ids, spots in found.items()}


def contacts(metal: Metal) -> Iterator[tuple[set[str], float, float, float]]:
    """Yield what may lie on each other, by ids, and the circle within which it may.

    Spliced bars, the halves of an elbow and points behind stock rails touch and no more. A bar and the wing rail that
    it goes on as are one bent bar, each given whole: they share what lies between faces that meet at the angle F, to
    where these are a head apart, head / sin F from the knuckle.
    """
    frogs = {frog["id"]: frog for frog in metal.figures["frogs"]}
    wings = {wing["id"]: wing for wing in metal.figures["wings"]}
    for contact in metal.figures["contacts"]:
        if contact["kind"] != "wing at knuckle":
            continue
        frog = frogs[contact["at"]]
        spot: Figures = frog
        for wing in (wings[part] for part in contact["parts"] if part in wings):
            spot = next(n for n in frog["noses"] if n and n["route"] == wing["goes_on_from"]["route"])
        reach = 1.1 * metal.head / math.sin(math.radians(frog["angle_deg"])) + metal.head
        yield set(contact["parts"]), spot["x_mm"], spot["y_mm"], reach


def contacts_that_do_not_touch(metal: Metal) -> Iterator[str]:
    """Yield each declared contact whose parts are apart, or are no parts."""
    regions = {item.id: item.region for item in metal.items}
    for contact in metal.figures["contacts"]:
        a, b = contact["parts"]
        if a not in regions or b not in regions:
            yield f"{a} and {b} are said to touch and are not both there"
        elif (apart := regions[a].distance(regions[b])) > COINCIDE:
            yield f"{a} and {b} ({contact['kind']}) are said to touch and are {apart:.3f} mm apart"


# Flanges ----------------------------------------------------------------------------------------------------------


def metal_in_flangeways(metal: Metal) -> Iterator[str]:
    """Yield each piece of metal that stands where the flanges on some face pass."""
    items = metal.items
    tree = shapely.STRtree([item.region for item in items])
    moving = list(moving_parts(metal))
    for face in metal.faces.values():
        groove = metal.groove(face, face.begin, face.end)
        guards = [guard for guard in metal.figures["guards"] if beside(metal, face, guard)]
        for i in sorted(tree.query(groove, predicate="intersects").tolist()):
            item = items[i]
            if any(item.figures is guard for guard in guards):
                continue
            common = item.region.intersection(groove)
            for owner, fronts, zone in moving:
                if owner == item.id and any(_one_rail(metal, face, front, zone) for front in fronts):
                    common = common.difference(zone)
            common = common.difference(guiding_sides(metal, face, item))
            if "beside" in item.figures and "frog" not in item.figures:
                common = common.difference(round_elbows(metal, face, item.figures))
            if is_metal(common):
                yield f"{item.id} stands in the flangeway of {face}: {size_of(common)}"
        for guard in guards:
            low, high = _stations_beside(metal, face, guard)
            own = metal.groove(face, low, high, guard["flangeway_mm"])
            common = own.intersection(next(item.region for item in items if item.figures is guard))
            if is_metal(common):
                yield f"{guard['id']} stands in its own flangeway beside {face}: {size_of(common)}"


def guiding_sides(metal: Metal, face: Face, item: Item) -> BaseGeometry:
    """Return what of a face's flangeway a bar may fill because its side is cut to be a guard beside that face."""
    allowed = []
    for side in metal.figures["guiding_sides"]:
        if item.id in side["bars"] and beside(metal, face, {**side, "ends": side["cut"]}):
            low, high = _stations_beside(metal, face, {**side, "ends": side["cut"]})
            allowed.append(metal.strip(face, low, high, -side["flangeway_mm"], -face.flangeway - ROUNDING))
    return shapely.union_all(allowed)


def round_elbows(metal: Metal, face: Face, guard: Figures) -> BaseGeometry:
    """Return what of a face's flangeway lies beyond a guard's flangeway near a K of it with the face `guard` is beside.

    A guard bent round the elbow of a K is a guard to both faces, and wheels need no more beside a guard than its own
    flangeway. The groove of the one ends where it has left the other's: flangeway / sin(angle) from the elbow.
    """
    spots = [Point()]
    for frog in metal.figures["frogs"]:
        if frog["kind"] == "K" and {key_of(f) for f in frog["faces"]} == {face.key, key_of(guard["beside"])}:
            reach = 1.1 * face.flangeway / math.sin(math.radians(frog["angle_deg"]))
            spots.append(Point(frog["x_mm"], frog["y_mm"]).buffer(reach))
    around = shapely.union_all(spots)
    if around.is_empty:
        return around
    # Where it is one bar with a guard beside this face, it goes on at that one's flangeway.
    others = [g["flangeway_mm"] for g in metal.figures["guards"] if g["id"] in guard["one_bar_with"]]
    return around.difference(metal.groove(face, face.begin, face.end, min([metal.guarded(face), *others])))


def beside(metal: Metal, face: Face, guard: Figures) -> bool:
    """Tell whether a guard lies beside a face: its own, or one of another route that is the same rail there."""
    own = metal.whole[key_of(guard["beside"])]
    if own.key == face.key:
        return True
    places = metal.places(own, *guard["ends"])
    line = metal.face_line(face)
    return bool((shapely.distance(line, shapely.points(places.real, places.imag)) < COINCIDE).all())


def _stations_beside(metal: Metal, face: Face, guard: Figures) -> tuple[float, float]:
    own = metal.whole[key_of(guard["beside"])]
    if own.key == face.key:
        return tuple(guard["ends"])
    trace, other = metal.traces[face.route], metal.traces[own.route]
    ends = other.beside(np.array(guard["ends"]), own.offset)
    low, high = sorted(trace.foot(complex(z)) for z in ends)
    return low, high


def moving_parts(metal: Metal) -> Iterator[tuple[str, list[Face], BaseGeometry]]:
    """Yield what moves: the bar, the faces whose flanges it lets through, and where it moves.

    A point moves from its tip to its heel, and needs to only until a full flangeway has opened. A heel spread that
    leaves less than one is excused up to there where a finding tells that the opening falls short. The rails that swing
    in a stub need nothing: up to their toe no other route has a face (see `Tracks`).
    """
    told = {f["where"].split(",")[0] for f in metal.figures["findings"] if f["rule"] == "point-opening"}
    for switch in metal.figures["switches"]:
        for point in switch["point_rails"]:
            face = metal.whole[key_of(point)]
            ends = point["heel_station_mm"], point["clear_station_mm"]
            nearest_first = sorted(ends, key=lambda station: abs(station - point["tip_station_mm"]))
            low, high = sorted((point["tip_station_mm"], nearest_first[switch["id"] in told]))
            zone = metal.strip(face, low - 0.05, high + 0.05, -0.1, metal.head + 0.1)
            for bar in metal.figures["rails"]:
                if any(key_of(p) == face.key and p["from_mm"] < high and p["to_mm"] > low for p in bar["pieces"]):
                    yield bar["id"], [metal.whole[key_of(f)] for f in point["behind"]], zone


def _one_rail(metal: Metal, face: Face, front: Face, zone: BaseGeometry) -> bool:
    """Tell whether a face is one with `front` in the neighbourhood of `zone`, at least where that begins."""
    if face.key == front.key:
        return True
    around = zone.buffer(3.0)
    line = metal.face_line(front).intersection(around)
    other = metal.face_line(face)
    if line.is_empty:
        return False
    some = shapely.get_coordinates(line)
    return bool((shapely.distance(other, shapely.points(some)) < COINCIDE).all())


# Treads -----------------------------------------------------------------------------------------------------------


def wheels_that_drop(metal: Metal) -> Iterator[str]:
    """Yield each stretch of a face where no metal carries the wheels that follow it, frogs' gaps left out."""
    everything = shapely.union_all([item.region for item in metal.items if "pieces" in item.figures])
    shapely.prepare(everything)
    for face in metal.faces.values():
        own = sorted(
            (p["from_mm"], p["to_mm"]) for bar in metal.figures["rails"] for p in bar["pieces"] if key_of(p) == face.key
        )
        gaps = list(gaps_of(metal, face))
        for low, high in own:
            yield from _bare(metal, face, everything, low + NEAR_END, high - NEAR_END, (NEAR_FACE,))
        lost = list(_told_lost(metal, face))
        for low, high in without((face.begin, face.end), [*own, *gaps]):
            if any(low < station < high for station in lost):
                continue
            yield from _bare(metal, face, everything, low + NEAR_END, high - NEAR_END, TAKES_OVER)


def _told_lost(metal: Metal, face: Face) -> Iterator[float]:
    """Yield the stations of a face in the middle of what an error tells to be lost of it."""
    trace = metal.traces[face.route]
    for finding in metal.figures["findings"]:
        if finding["rule"] == "rail-lost" and finding["level"] == "error" and finding["where"].endswith(f", {face}"):
            yield trace.foot(complex(finding["x_mm"], finding["y_mm"]))


def _bare(
    metal: Metal, face: Face, everything: BaseGeometry, low: float, high: float, deep: Sequence[float]
) -> Iterator[str]:
    """Yield where no metal lies at any of some depths in the head of a face between two stations."""
    if high <= low:
        return
    stations = np.linspace(low, high, max(2, math.ceil((high - low) / LOOKS_EVERY) + 1))
    carried = np.zeros(len(stations), dtype=bool)
    for depth in deep:
        places = metal.traces[face.route].beside(stations, metal.offsets(face, stations, depth))
        carried |= shapely.contains_xy(everything, places.real, places.imag)
    bare = stations[~carried]
    if len(bare):
        yield f"nothing carries {face} at {len(bare)} places from {bare[0]:.2f} to {bare[-1]:.2f}"


def gaps_of(metal: Metal, face: Face) -> Iterator[tuple[float, float]]:
    """Yield the stations between which a face is declared to be missing: at frogs, and before fixed rails."""
    trace = metal.traces[face.route]
    for frog in metal.figures["frogs"]:
        for i, owner in enumerate(frog["faces"]):
            if key_of(owner) != face.key:
                continue
            station = frog["stations_mm"][face.route]
            far = station
            if frog["practical"] is not None:
                far = trace.foot(complex(frog["practical"]["x_mm"], frog["practical"]["y_mm"]), station)
            nose = frog["noses"][i]
            if nose is None:
                near = face.begin if abs(station - face.begin) < abs(station - face.end) else face.end
            else:
                near = nose["station_mm"]
            ends = near, far, station
            yield min(ends), max(ends)
    for switch in metal.figures["switches"]:
        for rail in switch["fixed_rails"]:
            if key_of(rail) == face.key and switch["switching"] == "fixed":
                low, high = sorted((rail["parts_station_mm"], rail["begin_station_mm"]))
                yield low, high
