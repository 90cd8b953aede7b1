"""Turn a sample into the text that is kept of it: routes, trackwork, sheets, and for some the whole drawing.

One line for each thing, numbers to 1e-4, so that a change of what is built or printed can be read in a diff. Ties are
told in groups; the drawings of two samples show each of them.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path
from typing import Any

from paper.samples import drawn
from samples import SAMPLES, figures

from turnout_templates.drawing.bounds import Box
from turnout_templates.drawing.dump import dump_items, number
from turnout_templates.drawing.items import Item, TextItem
from turnout_templates.pipeline import Drawn
from turnout_templates.reports.cut_tables import cut_list_figures
from turnout_templates.sheets.details import FRAME_LAYER

DATA = Path(__file__).parent / "data"
WHOLE = ("01-plain-no-6", "06-n-nn3-no-6")
"""Samples of which the whole drawing is kept: the simplest and the most crowded."""
SLACK = 1.5e-4
"""How far two numbers may be apart: half a last place on either side of the rounding, and a hair."""
Figures = dict[str, Any]


def golden_files() -> dict[str, str]:
    """Return (file name -> text) for everything that is kept."""
    kept = {f"{flat(name)}.txt": told(name) for name in SAMPLES}
    kept |= {f"{flat(name)}.drawing.txt": dump_items(drawn(name, None).drawing.items) for name in WHOLE}
    return kept


def flat(name: str) -> str:
    """Return the name of a sample as part of a file name."""
    return name.replace("/", "-")


def told(name: str) -> str:
    """Return what is kept of one sample."""
    sample = drawn(name, None)
    kept = (_figures(figures(name)), _cut_list(sample), _details(sample), _sheets(sample), _drawing(sample))
    return "\n".join([*(line for lines in kept for line in lines), ""])


def differences(kept: str, now: str) -> list[str]:
    """Return the lines that differ as "- kept" and "+ now"; numbers differ when they are further apart than `SLACK`."""
    old, new = kept.splitlines(), now.splitlines()
    longest = max(len(old), len(new))
    pairs = zip([*old, *[""] * (longest - len(old))], [*new, *[""] * (longest - len(new))], strict=True)
    return [f"line {k}:\n  - {a}\n  + {b}" for k, (a, b) in enumerate(pairs, start=1) if not _alike(a, b)]


_NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?![\w.])")


def _alike(a: str, b: str) -> bool:
    if a == b:
        return True
    if _NUMBER.sub("#", a) != _NUMBER.sub("#", b):
        return False
    pairs = zip(_NUMBER.findall(a), _NUMBER.findall(b), strict=True)
    return all(abs(float(x) - float(y)) <= SLACK for x, y in pairs)


def _figures(found: Figures) -> Iterator[str]:
    yield f"{found['name']}: fingerprint {found['fingerprint']}, 1:{number(found['scale_ratio'])}"
    for name, gauge in found["gauges"].items():
        yield f"gauge {name}: {number(gauge['width_mm'])}"
    for name, route in found["routes"].items():
        yield f"route {name}: {number(route['length_mm'])} long, least radius {_or_none(route['least_radius_mm'])}"
        yield from (f"  {_piece(piece)} from {_pose(piece['start'])}" for piece in route["pieces"])
        yield f"  end {_pose(route['end'])}"
        for wider in route["widening"]:
            profile = ", ".join(f"{number(k['by_mm'])} at {number(k['station_mm'])}" for k in wider["profile"])
            yield f"  gauge wider, {wider['inner']} rail out: {profile} ({wider['source']})"
    for switch in found["switches"]:
        yield from _switch(switch)
    yield from map(_frog, found["frogs"])
    yield from map(_guard, found["guards"])
    for rail in found["rails"]:
        spans = ", ".join(_span(piece) for piece in rail["pieces"])
        yield f"rail {rail['id']}: {rail['role']}, {rail['polarity']}, {number(rail['length_mm'])}: {spans}"
    yield from map(_base_cut, found["base_cuts"])
    yield from map(_joint, found["joints"])
    yield from map(_rail_piece, found["pieces"])
    yield from _ties(found["ties"])
    for group in found["polarity"]["groups"]:
        turned = ", turned" if group["turned"] else ""
        yield f"connected: {' '.join(group['routes'])}, fed with {group['fed_with']}{turned}"
    for finding in found["findings"]:
        yield f"finding {finding['rule']}, {finding['level']}: {finding['where']}: {finding['measured']}"


def _cut_list(sample: Drawn) -> Iterator[str]:
    """Yield what is cut from each length: rails by their ids, ties by their number."""
    found = cut_list_figures(sample.job.trackwork)
    rows: dict[str | None, list[Figures]] = {}
    for row in found["parts"]:
        rows.setdefault(row["cut_from"], []).append(row)
    for length in found["lengths"]:
        own = ", ".join(_cut(row) for row in rows[length["id"]])
        yield f"cut {length['id']}, {length['section']}: {own}; {number(length['offcut_mm'])} left"
    yield from (f"bought by itself: {_cut(row)}" for row in rows.get(None, ()))


def _cut(row: Figures) -> str:
    ids = f"{row['count']} of" if row["part"] in ("tie", "headblock") else "+".join(row["ids"][0])
    return f"{row['part']} {ids} {number(row['length_mm'] + row['filing_mm'])}"


def _joint(joint: Figures) -> str:
    double = ", in both rails" if joint["double"] else ""
    face = f"{joint['route']} {joint['gauge']} {joint['hand']}"
    return (
        f"{joint['kind']} {joint['id']}: {joint['bar']}, {face} {number(joint['station_mm'])}, ties "
        f"{' '.join(joint['ties'])}, frogs {' '.join(joint['frog_ids']) or 'none'}{double}"
    )


def _rail_piece(piece: Figures) -> str:
    ends = ", ".join(f"{end['kind']} {end['at'] or ''}".strip() for end in piece["ends"])
    return f"piece {piece['id']}: {ends}; {number(piece['length_mm'])} of {number(piece['cut_length_mm'])}"


def _base_cut(cut: Figures) -> str:
    stations = f"{number(cut['from_mm'])}..{number(cut['to_mm'])}"
    return f"base {cut['part']} {cut['side']}: {_face(cut['beside'])} {stations} for {' '.join(cut['against'])}"


def _span(piece: Figures) -> str:
    taper = ""
    if piece["kind"] == "taper":
        taper = f" from {number(piece['offset_mm'])} to {number(piece['offset_to_mm'])} beside it"
    return f"{_face(piece)} {number(piece['from_mm'])}..{number(piece['to_mm'])}{taper}"


def _piece(piece: Figures) -> str:
    bend = piece["radii_mm"] if piece["kind"] == "easement" else [piece["radius_mm"]]
    return f"{piece['kind']} {number(piece['length_mm'])} radius {' to '.join(map(_or_none, bend))}"


def _switch(switch: Figures) -> Iterator[str]:
    bent = ", bent from straight" if switch["laid"] == "bent from straight" else ""
    yield (
        f"switch {switch['id']}: {switch['branch']} leaves {switch['main']} to the {switch['hand']}{bent} at "
        f"{number(switch['station_mm'])}, {_points(switch)}, throw {_or_none(switch['throw_mm'])}, "
        f"least opening {_or_none(switch['least_opening_mm'])}, bar at {_or_none(switch['throw_bar_station_mm'])}"
    )
    yield f"  tip {_pose(switch['tip'])}, filed tip {_pose(switch['filed_tip'])}"
    for point in switch["point_rails"]:
        stations = (point[f"{place}_station_mm"] for place in ("tip", "full_head", "heel"))
        yield (
            f"  point {_face(point)}: tip, full head, heel at {' '.join(map(number, stations))}; {point['held']}, fix "
            f"{number(point['fix_mm'])}, first tie {point['first_soldered_tie']}, planed {point['filed_side']} "
            f"{number(point['angle_at_tip_deg'])} to {number(point['angle_at_full_head_deg'])} deg"
        )
    for opening in switch["openings"]:
        yield (
            f"  open, {opening['model']} at {number(opening['fix_mm'])}: least {number(opening['least_opening_mm'])} "
            f"at {number(opening['at_mm'])}, held by throw {_or_none(opening['throw_to_hold_mm'])} or fix "
            f"{_or_none(opening['fix_to_hold_mm'])}"
        )
    if bar := switch["throw_bar"]:
        yield (
            f"  bar {number(bar['length_mm'])} x {number(bar['width_mm'])}, travel {number(bar['travel_mm'])}, slot "
            f"{number(bar['slot']['length_mm'])} at {_point(bar['drill'])}"
        )
        yield from (
            f"    soldered {_face(spot)}: {spot['side']} side, {number(spot['from_far_end_mm'])}"
            for spot in bar["spots"]
        )
        yield from (
            f"    notch {notch['rail_id']}: {number(notch['from_mm'])} to {number(notch['to_mm'])}"
            for notch in bar["notches"]
        )
    for relief in switch["stock_relief"]:
        yield f"  relief of {relief['bar']}: {number(relief['from_mm'])}..{number(relief['to_mm'])}"
    for rail in switch["fixed_rails"]:
        stations = (rail[f"{place}_station_mm"] for place in ("parts", "begin"))
        yield f"  fixed rail {_face(rail)}: parts, begins at {' '.join(map(number, stations))}"


def _points(switch: Figures) -> str:
    return f"{switch['points']} points" if switch["switching"] == "points" else str(switch["switching"])


def _frog(frog: Figures) -> str:
    noses = " ".join(_or_none(nose and nose["station_mm"]) for nose in frog["noses"])
    practical = _point(frog["practical"]) if frog["practical"] else "-"
    return (
        f"frog {frog['id']} {frog['kind']}: No. {number(frog['number'])}, {number(frog['angle_deg'])} deg at "
        f"{_point(frog)}, {' x '.join(map(_face, frog['faces']))}, lead {_or_none(frog['lead_mm'])}, "
        f"practical {practical}, noses {noses}, joins {frog['joins']}"
    )


def _guard(guard: Figures) -> str:
    span = " ".join(map(number, (guard["ends"][0], *guard["straight"], guard["ends"][1])))
    return (
        f"guard {guard['id']}: {guard['gauge']} at {' '.join(guard['guards_all'])} beside {_face(guard['beside'])}, "
        f"flangeway {number(guard['flangeway_mm'])}, {span}, {guard['material']}"
    )


def _ties(ties: list[Figures]) -> Iterator[str]:
    """Yield one line for each run of ties that are alike but for their place."""
    for _, run in groupby(ties, key=lambda t: (t["route"], t["role"], t["material"], number(t["length_mm"]))):
        first, *rest = run
        last = (rest or [first])[-1]
        size = f"{number(first['length_mm'])} x {number(first['width_mm'])}"
        span = f"{first['route']} {number(first['station_mm'])}..{number(last['station_mm'])}"
        yield f"ties {first['id']} to {last['id']}: {first['role']}, {first['material']}, {size} on {span}"
    for tie in ties:
        if tie["holds"]:
            yield f"tie {tie['id']} holds {', '.join(tie['holds'])}"


def _sheets(sample: Drawn) -> Iterator[str]:
    plan = sample.plan
    yield (
        f"{len(plan.sheets)} sheets of {plan.paper.name} {plan.orientation}, {len(sample.document.pages)} pages, "
        f"in {plan.arrangement}, seams cut {number(plan.seam_weight)}, split texts {plan.split_texts}"
    )
    for sheet in plan.sheets:
        move = sheet.placement
        place = f"at row {sheet.row} column {sheet.column}"
        turn, shift = number(math.degrees(move.turn)), f"({number(move.dx)} {number(move.dy)})"
        yield f"  sheet {sheet.number} {place}: turn {turn} deg, shift {shift}"
        for join in sheet.joins:
            marks = " ".join(f"({number(x)} {number(y)})" for x, y in join.marks)
            yield f"    {join.side}: {'cut, lies on' if join.cut else 'goes under'} {join.neighbour}, marks {marks}"


def _details(sample: Drawn) -> Iterator[str]:
    """Yield the titles of the details and what their dimension lines say, page by page."""
    for page in sample.document.pages:
        if page.label.startswith("Details"):
            yield f"{page.label}: {len(page.views)} frames"
            for view, frame in zip(page.views, _frames(page.items), strict=True):
                told = [item for item in frame if isinstance(item, TextItem)]
                yield f"  {' '.join(item.text for item in told if item.bold)}, in a window {_size(view.clip)}"
                yield from (f"    {item.text}" for item in told if not item.bold)


def _frames(items: tuple[Item, ...]) -> list[list[Item]]:
    """Return what belongs to each frame of a page of details: everything from one frame's line to the next."""
    frames: list[list[Item]] = []
    for item in items:
        if item.layer == FRAME_LAYER:
            frames.append([])
        elif frames:
            frames[-1].append(item)
    return frames


def _size(box: Box) -> str:
    return f"{number(box.width, 2)} x {number(box.height, 2)}"


def _drawing(sample: Drawn) -> Iterator[str]:
    counts = Counter(item.layer for item in sample.drawing.items)
    yield f"drawing: {', '.join(f'{count} {layer}' for layer, count in counts.items())}"


def _face(owner: Figures) -> str:
    return f"{owner['route']} {owner['gauge']} {owner['hand']}"


def _pose(pose: Figures) -> str:
    return f"{_point(pose)} at {number(pose['heading_deg'])} deg"


def _point(point: Figures) -> str:
    return f"({number(point['x_mm'])} {number(point['y_mm'])})"


def _or_none(value: float | None) -> str:
    return "-" if value is None else number(value)
