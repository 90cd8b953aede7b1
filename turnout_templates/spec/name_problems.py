"""Turn what is wrong with a name, or not there, into problems with their places."""

from __future__ import annotations

import re
from collections.abc import Iterator

from turnout_templates.errors import KeyPath, Problem
from turnout_templates.spec.tree import Node, Table, locate, problem_at

_NAME = re.compile(r"[^\W_](?:[\w .'+-]{0,38}[\w.'+])?")


def check_name(name: str, table: Table, what: str) -> Iterator[Problem]:
    """Yield the problem of a name of the user's own that cannot be one."""
    if not _NAME.fullmatch(name):
        sentence = f'"{name[:40]}" cannot be the name of a {what}.'
        remedy = "A name has 40 characters at most, letters, digits, spaces and - _ . ' +, a letter or digit first."
        yield problem_at(table.keys[name], (*table.path, name), sentence, remedy)


def no_common_rail(tree: Table, path: KeyPath) -> Problem:
    """Return the problem of a mapping that says of no rail that its gauges share it."""
    sentence = "Two or more gauges run here, and nothing says which rail they share."
    return lacking(tree, (*path, "common_rail"), sentence, 'Add "common_rail: left" or "common_rail: right".')


def lacking(tree: Table, path: KeyPath, sentence: str, remedy: str) -> Problem:
    """Return the problem of a key that is not there, placed at the mapping that lacks it."""
    place, _ = locate(tree, path[:-1])
    return problem_at(place, path, sentence, remedy)


def found_at(node: Node, sentence: str, remedy: str) -> Problem:
    """Return the problem of a value that stands in the wrong place or says the wrong thing."""
    return problem_at(node.place, node.path, sentence, remedy)
