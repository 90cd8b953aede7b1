"""Turn the tables of routes, as they were written, into what refers to what and which pieces run to frogs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from turnout_templates.spec.scalars import OPEN
from turnout_templates.spec.tree import Listing, Node, Scalar, Table

_FROG_KEYS = ("frog", "frog_angle", "frog_ratio")


def rings_of(needs: dict[str, list[str]]) -> set[str]:
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


def named(route: Table, key: str) -> Scalar | None:
    """Return the name of the route that one end meets, written alone or in a mapping."""
    inner = route.table(key)
    return route.scalar(key) if inner is None else inner.scalar("route")


def piece_count(route: Table) -> int:
    """Return how many pieces the path of a route has."""
    path = route.entries.get("path")
    return len(path.items) if isinstance(path, Listing) else 0


def open_values(route: Table) -> Iterator[tuple[int, str, Node]]:
    """Yield (piece, key, value) of every value that a path leaves open."""
    path = route.entries.get("path")
    for index, piece in enumerate(path.items if isinstance(path, Listing) else ()):
        inner = [node for node in piece.entries.values() if isinstance(node, Table)] if isinstance(piece, Table) else []
        for table in [piece, *inner] if isinstance(piece, Table) else []:
            for key, node in table.entries.items():
                if isinstance(node, Scalar) and node.text.strip() == OPEN:
                    yield index, key, node


def own_gauges(route: Table) -> list[str]:
    """Return the names of the gauges that a route says itself."""
    listing = route.entries.get("gauges")
    items = listing.items if isinstance(listing, Listing) else ()
    return [item.text.strip() for item in items if isinstance(item, Scalar)]


def frog_pieces(route: Table) -> Iterable[tuple[int, Node]]:
    """Yield (index, piece) of every piece that runs to a frog."""
    path = route.entries.get("path")
    for index, piece in enumerate(path.items if isinstance(path, Listing) else ()):
        if isinstance(piece, Table) and _runs_to_frog(piece):
            yield index, piece


def _runs_to_frog(piece: Table) -> bool:
    curve = piece.table("curve")
    keys = set(piece.entries) | (set(curve.entries) if curve is not None else set())
    return bool(keys & set(_FROG_KEYS)) or (curve is not None and "to" in curve.entries)
