"""Turn specs and figures into their mirror image, their turned or their enlarged copy, and compare figures.

The specs are changed as text, the figures as JSON, so that neither side knows how the program works.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from .figures import Figures

SIDES = {"left": "right", "right": "left"}
SENTENCES = {"where", "measured", "limit", "remedy", "sentence", "source", "fingerprint", "name"}
"""Words that carry rounded figures, or that are meant to change."""
FLATTENED = {"outline", "filed"}
"""Regions of flattened curves, whose corners lie where the flattening puts them; sweeps hold those."""
TELLING_SIDES = {"shortened_by", "in_the_way", "guide", "what"}
"""Words that name a rail by its hand, among others."""
AN_ID = re.compile(r"\b(?:(?:IG|[DEFGJRSW])?[0-9]+[a-z]?)\b")
"""Ids follow the order of things: of those words all but their numbers is compared, and how many there are."""
PLACE = 1e-6  # mm
FLAT = 0.15
"""How far (mm) apart stations of flattened regions may be: 0.002 mm across at the flattest frog, 0.02 mm along."""
TURN = math.degrees(1e-9)


def mirrored_text(text: str) -> str:
    """Return the spec of the mirror image (in the x axis)."""
    text = re.sub(r"\b(left|right)\b", lambda match: SIDES[match[0]], text)
    return re.sub(r"\b(y|heading): (-?)", lambda match: f"{match[1]}: {'' if match[2] else '-'}", text)


def enlarged_text(text: str, by: Decimal) -> str:
    """Return the spec with every length in mm multiplied; its scale's ratio is left, so nothing may depend on it."""
    return re.sub(r"([0-9.]+) mm", lambda match: f"{Decimal(match[1]) * by:f} mm", text)


def moved_text(text: str, *, x: str, y: str, heading: str) -> str:
    """Return the spec with the start of its first route replaced."""
    return re.sub(r"start: \{[^}]*\}", f"start: {{x: {x}, y: {y}, heading: {heading}}}", text, count=1)


def _changed(value: Any, change: Callable[[str, Any], Any], key: str = "") -> Any:
    if isinstance(value, dict):
        return {name: _changed(item, change, name) for name, item in value.items()}
    if isinstance(value, list):
        return [_changed(item, change, key) for item in value]
    return change(key, value)


def mirrored_figures(figures: Figures) -> Figures:
    """Return the figures of the mirror image: y, headings, curvatures and offsets change sign, hands change side."""
    signed = {"y_mm", "heading_deg", "radius_mm", "radii_mm", "offset_mm", "offset_to_mm"}

    def change(key: str, value: Any) -> Any:
        if key in signed and value is not None:
            return -value
        if key in TELLING_SIDES and isinstance(value, str):
            return re.sub(r"\b(left|right)\b", lambda match: SIDES[match[0]], value)
        return SIDES.get(value, value) if isinstance(value, str) else value

    mirrored = _changed(figures, change)
    for tie in mirrored["ties"]:
        tie["angle_deg"] = -tie["angle_deg"]
    return dict(mirrored)


OF_TOOLS = {"copper-gap", "gap-at-base", "sections-joined", "piece-unfed"}
"""Findings that go by what a saw takes and a wire needs."""


def without_tools(figures: Figures) -> Figures:
    """Return the figures but for what goes by tools and wires, which are as wide in any scale.

    Which of two parts that lie too close is bared goes by the order of things; that no copper joins two sections is
    proved of each spec by itself (see `wiring`).
    """
    kept = {key: value for key, value in figures.items() if key not in ("copper", "feeders", "wiring")}
    if "findings" in kept:
        kept["findings"] = [told for told in figures["findings"] if told["rule"] not in OF_TOOLS]
    return kept


def enlarged_figures(figures: Figures, by: float) -> Figures:
    """Return the figures with every length multiplied."""
    lengths = {"straight", "end", "ends", "radii_mm", "radius_mm", "stations_mm", "full_straight", "full_end"}
    lengths |= {"full_ends", "merged_from", "gap", "covered", "unguided", "cut", "guides"}
    stations = set(figures["routes"])

    def change(key: str, value: Any) -> Any:
        is_length = key.endswith("_mm") or key in lengths or key in stations
        return value * by if is_length and isinstance(value, float | int) else value

    return dict(_changed(figures, change))


def moved_figures(figures: Figures, *, x: float, y: float, turn: float) -> Figures:
    """Return the figures turned about the origin by `turn` radians and then shifted."""
    cosine, sine = math.cos(turn), math.sin(turn)

    def place(value: Any) -> Any:
        if isinstance(value, list):
            return [place(item) for item in value]
        if not isinstance(value, dict):
            return value
        moved = {key: place(item) for key, item in value.items()}
        if "x_mm" in moved:
            px, py = moved["x_mm"], moved["y_mm"]
            moved["x_mm"], moved["y_mm"] = px * cosine - py * sine + x, px * sine + py * cosine + y
        if "heading_deg" in moved:
            moved["heading_deg"] += math.degrees(turn)
        return moved

    moved = place(figures)
    for tie in moved["ties"]:
        tie["angle_deg"] += math.degrees(turn)
    return dict(moved)


def compare(want: Figures, have: Figures, *, place: float = PLACE) -> None:
    """Fail unless two sets of figures are the same but for names, the order of lists, rounding, and `without_tools`."""
    _compare(_ordered(without_tools(want)), _ordered(without_tools(have)), "", place)


def _ordered(figures: Figures) -> Figures:
    """Return the figures with each list in an order that does not depend on names."""
    lists = {key: value for key, value in figures.items() if isinstance(value, list)}
    return {**figures, **{key: sorted(value, key=_order) for key, value in lists.items()}}


def _order(entry: Figures) -> tuple[str, ...]:
    """Return something to sort by: words first, then places to the hundredth of a mm."""
    words = [str(entry.get(key, "")) for key in ("rule", "kind", "role", "route", "gauge", "hand", "material")]
    faces = [str(sorted(f"{f['route']} {f['gauge']} {f['hand']}" for f in entry.get("faces", [])))]
    beside = [str(sorted(entry[key].items())) for key in ("beside", "goes_on_from") if key in entry]
    first = entry["pieces"][0] if entry.get("pieces") else {}
    start = [str(first.get(key, "")) for key in ("route", "gauge", "hand")]
    figures = [entry.get("x_mm"), entry.get("y_mm"), first.get("from_mm"), *entry.get("straight", [])]
    places = [f"{figure:+012.2f}" for figure in figures if isinstance(figure, float | int)]
    return (*words, *faces, *beside, *start, *places)


def _compare(want: Any, have: Any, path: str, place: float) -> None:
    if isinstance(want, dict):
        assert want.keys() == have.keys(), path
        for key, value in want.items():
            if key not in SENTENCES | FLATTENED:
                _compare(value, have[key], f"{path}.{key}", place)
    elif isinstance(want, list):
        want, have = (_in_order(value) for value in (want, have))
        assert len(want) == len(have), f"{path}: {len(want)} and {len(have)}"
        for i, (one, other) in enumerate(zip(want, have, strict=True)):
            _compare(one, other, f"{path}[{i}]", place)
    elif isinstance(want, float) or isinstance(have, float):
        _compare_number(want, have, path, place)
    else:
        assert _kind(want) == _kind(have), f"{path}: {want!r} and {have!r}"


def _in_order(value: list[Any]) -> list[Any]:
    """Return words sorted by what is compared of them, and what is told of rails by rail; other lists as they are."""
    if value and all(isinstance(item, str) for item in value):
        return sorted(value, key=_kind)
    if value and all(isinstance(item, dict) and {"gauge", "hand"} <= item.keys() for item in value):
        return sorted(value, key=lambda item: tuple(str(item.get(key, "")) for key in ("joint", *RAIL)))
    if value and all(isinstance(item, dict) and {"kind", "side", "at"} <= item.keys() for item in value):
        return sorted(value, key=lambda item: (item["kind"], str(item["side"]), round(item["from_mm"], 1)))
    return value


RAIL = ("route", "gauge", "hand")


def _kind(value: Any) -> Any:
    """Return what is compared of a word: all but the numbers of ids in it."""
    if not isinstance(value, str):
        return value
    return AN_ID.sub(lambda match: match[0][:1] if match[0][0].isalpha() else "", value)


def _compare_number(want: Any, have: Any, path: str, place: float) -> None:
    assert want is not None and have is not None, f"{path}: {want!r} and {have!r}"
    if path.endswith("_deg"):
        # Ties have no direction: their angles repeat every half turn.
        assert abs(math.remainder(want - have, 180 if ".ties" in path else 360)) < TURN, (
            f"{path}: {want!r} and {have!r}"
        )
    elif path.endswith(("radius_mm", "least_radius_mm")) or "radii_mm" in path:
        assert abs(1 / want - 1 / have) < 1e-10, f"{path}: {want!r} and {have!r}"
    elif ".whole" in path or re.search(r"\.pieces\[[0-9]+\]\.work", path):
        # Where a head is given as an outline it begins 0.02 mm outside what is filed off, found on flattened curves.
        assert abs(want - have) < FLAT, f"{path}: {want!r} and {have!r}"
    elif path.endswith("beside.clear_mm"):
        # Between regions that are flattened to a sagitta of 0.002 mm each, whatever the scale.
        assert abs(want - have) < 0.005, f"{path}: {want!r} and {have!r}"
    elif path.endswith("number"):
        assert abs(want - have) < 1e-9 * (want**2 + 0.25) + 1e-12, f"{path}: {want!r} and {have!r}"
    else:
        assert abs(want - have) < place, f"{path}: {want!r} and {have!r}"
