"""Turn the routes of a spec's tree into the problems of what they leave, join and carry."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.errors import Problem, ordinal
from turnout_templates.spec.ground import Ground
from turnout_templates.spec.name_problems import check_name, found_at, lacking, no_common_rail
from turnout_templates.spec.route_tables import frog_pieces, named, open_values, own_gauges, piece_count, rings_of
from turnout_templates.spec.scalars import nearest
from turnout_templates.spec.tree import Listing, Scalar, Table, problem_at


class RouteNames:
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
        self.rings = rings_of({name: self._needs(route) for name, route in self.routes.items()})

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
            self.gauges[route] = own_gauges(self.routes[route]) or inherited

    def check(self) -> list[Problem]:
        """Return the problems of all routes."""
        problems: list[Problem] = []
        first_free = next((name for name, route in self.routes.items() if "leaves" not in route.entries), None)
        for name, route in self.routes.items():
            problems += check_name(name, self.table, "route")
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
        name = named(route, "leaves")
        return name.text.strip() if name is not None and name.text.strip() in self.routes else None

    def _needs(self, route: Table) -> list[str]:
        """Return the names of the routes that must be laid before this one: those that it leaves and joins."""
        names = [end.text.strip() for key in ("leaves", "joins") if (end := named(route, key)) is not None]
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
                yield found_at(item, f'This spec has no gauge "{name}".', nearest(name, self.ground.gauges))
            elif name in seen:
                yield found_at(item, f'The gauge "{name}" stands here twice.', "Keep it once.")
            elif allowed is not None and name not in allowed:
                remedy = f"Its parent carries {', '.join(sorted(allowed))}."
                yield found_at(item, f'The gauge "{name}" cannot leave a route that it does not run on.', remedy)
            seen.add(name)

    def _check_branch(self, name: str, route: Table) -> Iterator[Problem]:
        yield from self._check_end(name, route, "leaves", "Name the route that it branches from.")
        leaves = route.table("leaves")
        if "at" not in route.entries and (leaves is None or "at" not in leaves.entries):
            remedy = 'Add "at: LENGTH", the station of the tip on its parent, or "at: end".'
            yield lacking(self.tree, (*route.path, "at"), "Nothing says where this branch leaves.", remedy)
        if leaves is not None and "at" in leaves.entries and (at := route.entries.get("at")) is not None:
            yield found_at(at, "The place where this branch leaves is said twice.", 'Keep one "at".')
        if (at := route.scalar("at")) is not None and at.text.strip() == "anywhere":
            yield found_at(at, "A branch cannot leave anywhere.", 'Say where: "at: LENGTH", or "at: end".')
        if (start := route.entries.get("start")) is not None:
            yield found_at(start, 'A branch begins where it leaves its parent, and takes no "start".', "Leave it out.")
        if (bend := route.entries.get("bend")) is not None:
            sentence = "Only a route that leaves no other takes a bend; a branch is bent with the route that it leaves."
            yield found_at(bend, sentence, "Leave it out, or write it in the route that everything else leaves.")
        yield from self._check_common_rail(name, route)

    def _check_end(self, name: str, route: Table, key: str, remedy: str) -> Iterator[Problem]:
        """Yield what is wrong with the name of the route that one end meets."""
        end = named(route, key)
        if end is None or end.is_nothing:
            return
        other = end.text.strip()
        verb = {"leaves": "leave", "joins": "join"}[key]
        if other == name:
            yield found_at(end, f'The route "{name}" cannot {verb} itself.', remedy)
        elif other not in self.table.entries:
            yield found_at(
                end, f'There is no route "{other}".', nearest(other, [o for o in self.table.entries if o != name])
            )
        elif name in self.rings and other in self.rings:
            sentence = f'The route "{name}" {verb}s "{other}", which itself leads back to "{name}".'
            yield found_at(end, sentence, "Let one of them leave and join no other.")

    def _check_joint(self, name: str, route: Table) -> Iterator[Problem]:
        if "joins" not in route.entries:
            if (facing := route.entries.get("facing")) is not None:
                remedy = 'Add "joins: ROUTE", or write "leaves: {route: ..., at: ..., facing: against}".'
                yield found_at(facing, 'Only a route that joins another takes "facing".', remedy)
            for index, key, node in open_values(route):
                sentence = f"Only a route that joins another can leave its {key} open."
                yield problem_at(node.place, (*route.path, "path", index), sentence, 'Add "joins: ROUTE", or a figure.')
            return
        yield from self._check_end(name, route, "joins", "Name the route that it meets.")
        joins = route.table("joins")
        if joins is not None and "facing" in joins.entries and (facing := route.entries.get("facing")) is not None:
            yield found_at(facing, "The way that this route joins is said twice.", 'Keep one "facing".')

    def _check_common_rail(self, name: str, route: Table) -> Iterator[Problem]:
        own, theirs = route.scalar("common_rail"), self.root[name].scalar("common_rail")
        if own is not None and theirs is not None and own.text != theirs.text and not self._turned(name):
            sentence = f"A branch keeps its parent's common rail, which is {theirs.text}."
            yield found_at(own, sentence, "Leave it out.")

    def _check_free(self, name: str, route: Table, *, is_first: bool) -> Iterator[Problem]:
        for key in ("hand",) if "joins" in route.entries else ("at", "hand", "points"):
            if (node := route.entries.get(key)) is not None:
                remedy = 'Leave it out, or add "leaves: ROUTE".'
                yield found_at(node, f'Only a route that leaves another takes "{key}".', remedy)
        for index, piece in [] if "joins" in route.entries else frog_pieces(route):
            sentence = "Only a branch can run to a frog: the one between it and its parent."
            remedy = 'Give the curve a radius and a length, or add "leaves: ROUTE".'
            yield problem_at(piece.place, (*route.path, "path", index), sentence, remedy)
        if not is_first and "start" not in route.entries:
            remedy = 'Add "start: {x: ..., y: ..., heading: ...}", or "leaves: ROUTE".'
            yield lacking(self.tree, (*route.path, "start"), "Nothing says where this route begins.", remedy)
        if len(self.gauges[name]) > 1 and "common_rail" not in route.entries:
            yield no_common_rail(self.tree, route.path)

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
        pieces = list(frog_pieces(route))
        ends = [key for key in ("leaves", "joins") if key in route.entries]
        if not ends:
            return
        for index, piece in pieces[len(ends) :]:
            sentence = f"Only one piece of a branch can run to the frog, and the {ordinal(pieces[0][0] + 1)} does."
            if len(ends) > 1:
                sentence = "A route that leaves and joins runs to two frogs, one at either end, and this is a third."
            yield problem_at(piece.place, (*route.path, "path", index), sentence, "Give this one a length.")
        last = piece_count(route) - 1
        if "joins" in ends and len(pieces) == len(ends) and pieces[-1][0] != last:
            sentence = "The curve from the far frog to where the route joins stands last in its path."
            yield problem_at(pieces[-1][1].place, (*route.path, "path", pieces[-1][0]), sentence, "Move it there.")
        near = pieces if len(ends) == 1 or last == 0 else [found for found in pieces if found[0] != last]
        if near and "leaves" in ends and "hand" not in route.entries:
            sentence = "A curve to the frog needs to know the side that the branch leaves to."
            yield lacking(self.tree, (*route.path, "hand"), sentence, 'Add "hand: left" or "hand: right".')
