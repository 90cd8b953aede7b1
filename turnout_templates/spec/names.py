"""Turn a spec's tree into the problems of its names: what refers to what, and which keys go together.

It works on the tree, so that these mistakes are told in the same run as those that the forms find, and it takes no
offence at what is not there or not of the right kind: that is for the forms to say.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from turnout_templates.errors import KeyPath, Problem, ordinal
from turnout_templates.spec.ground import Ground
from turnout_templates.spec.scalars import OPEN, nearest
from turnout_templates.spec.shorthands.table import FORMATIONS
from turnout_templates.spec.tree import Listing, Node, Scalar, Table, locate, problem_at

RESERVED = {"common": "it names the rail that gauges share", "from": "it is a key of track_standard"}
_NAME = re.compile(r"[^\W_](?:[\w .'+-]{0,38}[\w.'+])?")
_FROG_KEYS = ("frog", "frog_angle", "frog_ratio")


def check_names(tree: Table, ground: Ground) -> list[Problem]:
    """Return the problems of the names in `tree`."""
    problems = [*_check_gauge_names(tree), *_check_standard(tree, ground), *_check_forms(tree)]
    routes = tree.table("routes")
    if routes is not None:
        problems += _Routes(tree, routes, ground).check()
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
            yield _no_common_rail(tree, (key,))


def _check_gauge_names(tree: Table) -> Iterator[Problem]:
    gauges = tree.table("gauges")
    if gauges is None:
        return
    for name in gauges.entries:
        if name in RESERVED:
            sentence = f'No gauge can be called "{name}": {RESERVED[name]}.'
            yield problem_at(gauges.keys[name], ("gauges", name), sentence, "Choose another name.")
        yield from _check_name(name, gauges, "gauge")


def _check_name(name: str, table: Table, what: str) -> Iterator[Problem]:
    if not _NAME.fullmatch(name):
        sentence = f'"{name[:40]}" cannot be the name of a {what}.'
        remedy = "A name has 40 characters at most, letters, digits, spaces and - _ . ' +, a letter or digit first."
        yield problem_at(table.keys[name], (*table.path, name), sentence, remedy)


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
            yield _lacking(tree, (*standard.path, name), f'The gauge "{name}" has no clearances here.', remedy)
        elif isinstance(row, Table):
            for key in ("flangeway", "check_gauge", "span", "point_spread"):
                if key not in row.entries:
                    remedy = 'Add it, or "from: NAME" for the rest.'
                    yield _lacking(tree, (*row.path, key), f'The key "{key}" is missing.', remedy)


def _no_common_rail(tree: Table, path: KeyPath) -> Problem:
    sentence = "Two or more gauges run here, and nothing says which rail they share."
    return _lacking(tree, (*path, "common_rail"), sentence, 'Add "common_rail: left" or "common_rail: right".')


def _lacking(tree: Table, path: KeyPath, sentence: str, remedy: str) -> Problem:
    """Return the problem of a key that is not there, placed at the mapping that lacks it."""
    place, _ = locate(tree, path[:-1])
    return problem_at(place, path, sentence, remedy)


class _Routes:
    """The checks on one `routes` table."""

    def __init__(self, tree: Table, table: Table, ground: Ground) -> None:
        self.tree = tree
        self.table = table
        self.ground = ground
        self.routes = {name: node for name, node in table.entries.items() if isinstance(node, Table)}
        self.root: dict[str, Table] = {}
        self.gauges: dict[str, list[str]] = {}
        for name in self.routes:
            self._climb(name)
        self.rings = _rings({name: self._needs(route) for name, route in self.routes.items()})

    def _climb(self, name: str) -> None:
        """Note the root and the gauges of a route and of all above it.

        Each route is visited once, however long the chain of parents.
        """
        chain: dict[str, None] = {}
        step: str | None = name
        while step is not None and step not in self.root and step not in chain:
            chain[step] = None
            step = self.parent_name(self.routes[step])
        for route in reversed(chain):
            parent = self.parent_name(self.routes[route])
            above = parent in self.root
            self.root[route] = self.root[parent] if above and parent is not None else self.routes[route]
            inherited = self.gauges[parent] if above and parent is not None else list(self.ground.gauges)
            self.gauges[route] = _own_gauges(self.routes[route]) or inherited

    def check(self) -> list[Problem]:
        problems: list[Problem] = []
        first_free = next((name for name, route in self.routes.items() if "leaves" not in route.entries), None)
        for name, route in self.routes.items():
            problems += _check_name(name, self.table, "route")
            problems += self._check_gauges(route)
            if "leaves" in route.entries:
                problems += self._check_branch(name, route)
            else:
                problems += self._check_free(name, route, is_first=name == first_free)
            problems += self._check_joint(name, route)
            problems += self._check_frog_pieces(route)
        if self.routes and first_free is None and not problems:
            sentence = "Every route leaves another, and none begins anywhere."
            problems.append(problem_at(self.table.place, self.table.path, sentence, "Let one route leave no other."))
        return problems

    def parent_name(self, route: Table) -> str | None:
        """Return the name of the route that `route` leaves, None where it leaves none that is there."""
        name = _named(route, "leaves")
        return name.text.strip() if name is not None and name.text.strip() in self.routes else None

    def _needs(self, route: Table) -> list[str]:
        """Return the names of the routes that must be laid before this one: those that it leaves and joins."""
        names = [end.text.strip() for key in ("leaves", "joins") if (end := _named(route, key)) is not None]
        return [name for name in names if name in self.routes]

    def _check_gauges(self, route: Table) -> Iterator[Problem]:
        listing = route.entries.get("gauges")
        if not isinstance(listing, Listing) or not self.ground.gauges:
            return
        parent = self.parent_name(route)
        allowed = set(self.gauges[parent]) if parent is not None else None
        seen: set[str] = set()
        for item in listing.items:
            if not isinstance(item, Scalar):
                continue
            name = item.text.strip()
            if name not in self.ground.gauges:
                yield _at(item, f'This spec has no gauge "{name}".', nearest(name, self.ground.gauges))
            elif name in seen:
                yield _at(item, f'The gauge "{name}" stands here twice.', "Keep it once.")
            elif allowed is not None and name not in allowed:
                remedy = f"Its parent carries {', '.join(sorted(allowed))}."
                yield _at(item, f'The gauge "{name}" cannot leave a route that it does not run on.', remedy)
            seen.add(name)

    def _check_branch(self, name: str, route: Table) -> Iterator[Problem]:
        yield from self._check_end(name, route, "leaves", "Name the route that it branches from.")
        leaves = route.table("leaves")
        if "at" not in route.entries and (leaves is None or "at" not in leaves.entries):
            remedy = 'Add "at: LENGTH", the station of the tip on its parent, or "at: end".'
            yield _lacking(self.tree, (*route.path, "at"), "Nothing says where this branch leaves.", remedy)
        if leaves is not None and "at" in leaves.entries and (at := route.entries.get("at")) is not None:
            yield _at(at, "The place where this branch leaves is said twice.", 'Keep one "at".')
        if (at := route.scalar("at")) is not None and at.text.strip() == "anywhere":
            yield _at(at, "A branch cannot leave anywhere.", 'Say where: "at: LENGTH", or "at: end".')
        if (start := route.entries.get("start")) is not None:
            yield _at(start, 'A branch begins where it leaves its parent, and takes no "start".', "Leave it out.")
        if (bend := route.entries.get("bend")) is not None:
            sentence = "Only a route that leaves no other takes a bend; a branch is bent with the route that it leaves."
            yield _at(bend, sentence, "Leave it out, or write it in the route that everything else leaves.")
        yield from self._check_common_rail(name, route)

    def _check_end(self, name: str, route: Table, key: str, remedy: str) -> Iterator[Problem]:
        """Yield what is wrong with the name of the route that one end meets."""
        end = _named(route, key)
        if end is None or end.is_nothing:
            return
        other = end.text.strip()
        verb = {"leaves": "leave", "joins": "join"}[key]
        if other == name:
            yield _at(end, f'The route "{name}" cannot {verb} itself.', remedy)
        elif other not in self.table.entries:
            yield _at(
                end, f'There is no route "{other}".', nearest(other, [o for o in self.table.entries if o != name])
            )
        elif name in self.rings and other in self.rings:
            sentence = f'The route "{name}" {verb}s "{other}", which itself leads back to "{name}".'
            yield _at(end, sentence, "Let one of them leave and join no other.")

    def _check_joint(self, name: str, route: Table) -> Iterator[Problem]:
        if "joins" not in route.entries:
            if (facing := route.entries.get("facing")) is not None:
                remedy = 'Add "joins: ROUTE", or write "leaves: {route: ..., at: ..., facing: against}".'
                yield _at(facing, 'Only a route that joins another takes "facing".', remedy)
            for index, key, node in _open_values(route):
                sentence = f"Only a route that joins another can leave its {key} open."
                yield problem_at(node.place, (*route.path, "path", index), sentence, 'Add "joins: ROUTE", or a figure.')
            return
        yield from self._check_end(name, route, "joins", "Name the route that it meets.")
        joins = route.table("joins")
        if joins is not None and "facing" in joins.entries and (facing := route.entries.get("facing")) is not None:
            yield _at(facing, "The way that this route joins is said twice.", 'Keep one "facing".')

    def _check_common_rail(self, name: str, route: Table) -> Iterator[Problem]:
        own, theirs = route.scalar("common_rail"), self.root[name].scalar("common_rail")
        if own is not None and theirs is not None and own.text != theirs.text and not self._turned(name):
            sentence = f"A branch keeps its parent's common rail, which is {theirs.text}."
            yield _at(own, sentence, "Leave it out.")

    def _check_free(self, name: str, route: Table, *, is_first: bool) -> Iterator[Problem]:
        for key in ("hand",) if "joins" in route.entries else ("at", "hand", "points"):
            if (node := route.entries.get(key)) is not None:
                remedy = 'Leave it out, or add "leaves: ROUTE".'
                yield _at(node, f'Only a route that leaves another takes "{key}".', remedy)
        for index, piece in [] if "joins" in route.entries else _frog_pieces(route):
            sentence = "Only a branch can run to a frog: the one between it and its parent."
            remedy = 'Give the curve a radius and a length, or add "leaves: ROUTE".'
            yield problem_at(piece.place, (*route.path, "path", index), sentence, remedy)
        if not is_first and "start" not in route.entries:
            remedy = 'Add "start: {x: ..., y: ..., heading: ...}", or "leaves: ROUTE".'
            yield _lacking(self.tree, (*route.path, "start"), "Nothing says where this route begins.", remedy)
        if len(self.gauges[name]) > 1 and "common_rail" not in route.entries:
            yield _no_common_rail(self.tree, route.path)

    def _turned(self, name: str) -> bool:
        """Tell whether a route, or one above it, runs against the one that it leaves."""
        step: str | None = name
        for _ in self.routes:
            if step is None:
                break
            leaves = self.routes[step].table("leaves")
            facing = leaves.scalar("facing") if leaves is not None else None
            if facing is not None and facing.text.strip() == "against":
                return True
            step = self.parent_name(self.routes[step])
        return False

    def _check_frog_pieces(self, route: Table) -> Iterator[Problem]:
        pieces = list(_frog_pieces(route))
        ends = [key for key in ("leaves", "joins") if key in route.entries]
        if not ends:
            return
        for index, piece in pieces[len(ends) :]:
            sentence = f"Only one piece of a branch can run to the frog, and the {ordinal(pieces[0][0] + 1)} does."
            if len(ends) > 1:
                sentence = "A route that leaves and joins runs to two frogs, one at either end, and this is a third."
            yield problem_at(piece.place, (*route.path, "path", index), sentence, "Give this one a length.")
        last = _piece_count(route) - 1
        if "joins" in ends and len(pieces) == len(ends) and pieces[-1][0] != last:
            sentence = "The curve from the far frog to where the route joins stands last in its path."
            yield problem_at(pieces[-1][1].place, (*route.path, "path", pieces[-1][0]), sentence, "Move it there.")
        near = pieces if len(ends) == 1 or last == 0 else [found for found in pieces if found[0] != last]
        if near and "leaves" in ends and "hand" not in route.entries:
            sentence = "A curve to the frog needs to know the side that the branch leaves to."
            yield _lacking(self.tree, (*route.path, "hand"), sentence, 'Add "hand: left" or "hand: right".')


def _rings(needs: dict[str, list[str]]) -> set[str]:
    """Return the names that lead back to themselves; each is visited a few times at most."""
    waiting = {name: set(found) for name, found in needs.items()}
    users: dict[str, list[str]] = {name: [] for name in needs}
    for name, found in waiting.items():
        for need in found:
            users[need].append(name)
    free = [name for name, found in waiting.items() if not found]
    while free:
        done = free.pop()
        for user in users[done]:
            waiting[user].discard(done)
            if not waiting[user]:
                free.append(user)
        del waiting[done]
    for name in [name for name in waiting if not any(user in waiting for user in users[name])]:
        _drop(name, waiting, users)
    return set(waiting)


def _drop(name: str, waiting: dict[str, set[str]], users: dict[str, list[str]]) -> None:
    """Take out of `waiting` a name that no other there needs, and those that only it needed: they hang on a ring."""
    loose = [name]
    while loose:
        needs = waiting.pop(loose.pop())
        loose += [need for need in needs if need in waiting and not any(user in waiting for user in users[need])]


def _named(route: Table, key: str) -> Scalar | None:
    """Return the name of the route that one end meets, written alone or in a mapping."""
    inner = route.table(key)
    return route.scalar(key) if inner is None else inner.scalar("route")


def _piece_count(route: Table) -> int:
    path = route.entries.get("path")
    return len(path.items) if isinstance(path, Listing) else 0


def _open_values(route: Table) -> Iterator[tuple[int, str, Node]]:
    """Yield (piece, key, value) of every value that a path leaves open."""
    path = route.entries.get("path")
    for index, piece in enumerate(path.items if isinstance(path, Listing) else ()):
        inner = [node for node in piece.entries.values() if isinstance(node, Table)] if isinstance(piece, Table) else []
        for table in [piece, *inner] if isinstance(piece, Table) else []:
            for key, node in table.entries.items():
                if isinstance(node, Scalar) and node.text.strip() == OPEN:
                    yield index, key, node


def _own_gauges(route: Table) -> list[str]:
    listing = route.entries.get("gauges")
    items = listing.items if isinstance(listing, Listing) else ()
    return [item.text.strip() for item in items if isinstance(item, Scalar)]


def _frog_pieces(route: Table) -> Iterable[tuple[int, Node]]:
    path = route.entries.get("path")
    for index, piece in enumerate(path.items if isinstance(path, Listing) else ()):
        if isinstance(piece, Table) and _runs_to_frog(piece):
            yield index, piece


def _runs_to_frog(piece: Table) -> bool:
    curve = piece.table("curve")
    keys = set(piece.entries) | (set(curve.entries) if curve is not None else set())
    return bool(keys & set(_FROG_KEYS)) or (curve is not None and "to" in curve.entries)


def _at(node: Node, sentence: str, remedy: str) -> Problem:
    return problem_at(node.place, node.path, sentence, remedy)
