"""Turn a spec's tree into the problems of its names: what refers to what, and which keys go together.

It works on the tree, so that these mistakes are told in the same run as those that the forms find, and it takes no
offence at what is not there or not of the right kind: that is for the forms to say.
"""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.errors import Problem
from turnout_templates.spec.ground import Ground
from turnout_templates.spec.name_problems import check_name, lacking, no_common_rail
from turnout_templates.spec.route_names import RouteNames
from turnout_templates.spec.scalars import nearest
from turnout_templates.spec.shorthands.table import FORMATIONS
from turnout_templates.spec.tree import Table, problem_at

RESERVED = {"common": "it names the rail that gauges share", "from": "it is a key of track_standard"}


def check_names(tree: Table, ground: Ground) -> list[Problem]:
    """Return the problems of the names in `tree`."""
    problems = [*_check_gauge_names(tree), *_check_standard(tree, ground), *_check_forms(tree)]
    routes = tree.table("routes")
    if routes is not None:
        problems += RouteNames(tree, routes, ground).check()
    return problems


def is_only_base(tree: Table) -> bool:
    """Tell whether `tree` can only be meant as a base for other specs: no name and no track."""
    return bool(tree.entries) and not {"name", "routes", *FORMATIONS} & set(tree.entries)


def _check_forms(tree: Table) -> Iterator[Problem]:
    said = [key for key in ("routes", *FORMATIONS) if key in tree.entries]
    for key in said[1:]:
        sentence = f"A spec has either routes or one formation in a few words, and this has {said[0]} and {key}."
        yield problem_at(tree.keys[key], (key,), sentence, "Keep one of them.")
    if not said:
        sentence, remedy = "This spec says nothing of any track.", 'Add "turnout: {hand: left, frog: 6}", or routes.'
        if is_only_base(tree):
            sentence = "This is a base, which says nothing of any track and is not drawn by itself."
            remedy = "Draw a spec that names it with base: FILE, or add a name and routes."
        yield problem_at(tree.place, (), sentence, remedy)
    routes = tree.table("routes")
    if routes is not None and not routes.entries:
        yield problem_at(routes.place, ("routes",), "There is no route in it.", "Add a route with a path.")
    gauges = tree.table("gauges")
    for key in said:
        formation = tree.table(key) if key != "routes" else None
        mixed = formation is not None and gauges is not None and len(gauges.entries) > 1
        if mixed and formation is not None and "common_rail" not in formation.entries:
            yield no_common_rail(tree, (key,))


def _check_gauge_names(tree: Table) -> Iterator[Problem]:
    gauges = tree.table("gauges")
    if gauges is None:
        return
    for name in gauges.entries:
        if name in RESERVED:
            sentence = f'No gauge can be called "{name}": {RESERVED[name]}.'
            yield problem_at(gauges.keys[name], ("gauges", name), sentence, "Choose another name.")
        yield from check_name(name, gauges, "gauge")


def _check_standard(tree: Table, ground: Ground) -> Iterator[Problem]:
    standard = tree.table("track_standard")
    if standard is None or not ground.gauges:
        return
    for name in standard.entries:
        if name != "from" and name not in ground.gauges:
            sentence = f'This spec has no gauge "{name}".'
            yield problem_at(standard.keys[name], (*standard.path, name), sentence, nearest(name, ground.gauges))
    if "from" in standard.entries:
        return
    for name in ground.gauges:
        row = standard.entries.get(name)
        if row is None:
            remedy = 'Add its figures, or "from: NAME" for those of a published standard.'
            yield lacking(tree, (*standard.path, name), f'The gauge "{name}" has no clearances here.', remedy)
        elif isinstance(row, Table):
            for key in ("flangeway", "check_gauge", "span", "point_spread"):
                if key not in row.entries:
                    remedy = 'Add it, or "from: NAME" for the rest.'
                    yield lacking(tree, (*row.path, key), f'The key "{key}" is missing.', remedy)
