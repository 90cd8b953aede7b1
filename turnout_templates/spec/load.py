"""Turn the text of a spec into a validated `Spec`, or into every mistake in it at once.

    text -> tree (with its bases merged in) -> ground (scale, gauges) -> shorthand written out
         -> forms (each key by itself) and names (keys against each other) -> meaning -> fingerprint

pydantic and the YAML reader are imported when the first spec is read.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.errors import InputProblems, LayoutError, Problem
from turnout_templates.spec.base import read_text_file, read_tree_with_bases
from turnout_templates.spec.fingerprint import fingerprint_of
from turnout_templates.spec.model import Spec
from turnout_templates.spec.tree import Listing, Node, Table, locate, problem_at

if TYPE_CHECKING:
    from turnout_templates.spec.forms import SpecForm
    from turnout_templates.spec.ground import Ground


class LocatedSpec(Struct, frozen=True):
    """A `spec` with the tree it was read from: bases merged in, shorthand written out, each node knowing its place."""

    spec: Spec
    positions: Table

    def problem(self, error: LayoutError) -> Problem:
        """Return the problem that `error` is, at the value it names or at the nearest one around it that is written."""
        place, node = locate(self.positions, error.key_path)
        written = node.path or error.key_path
        return problem_at(place, written, error.sentence, error.remedy)


def load_spec(path: Path) -> LocatedSpec:
    """Return the spec in the file `path`. Raises InputProblems."""
    return read_spec(read_text_file(path, str(path)), file=str(path), folder=path.parent)


def is_base(path: Path) -> bool:
    """Tell whether the file `path` is a spec that can only be meant as a base for others: no name and no track."""
    from turnout_templates.spec.names import is_only_base

    try:
        tree, _ = read_tree_with_bases(read_text_file(path, str(path)), str(path), path.parent)
    except InputProblems:
        return False
    return "spec" in tree.entries and is_only_base(tree)


def read_spec(text: str, *, file: str, folder: Path | None) -> LocatedSpec:
    """Return the spec that `text` is; `file` is what messages call it, `folder` is where its base may lie.

    Raises InputProblems with every mistake found.
    """
    from turnout_templates.spec.ground import read_ground
    from turnout_templates.spec.names import check_names, is_only_base

    tree, problems = read_tree_with_bases(text, file, folder)
    ground = read_ground(tree)
    form, found = _read_forms(tree, ground)
    if is_only_base(tree):
        found = [problem for problem in found if problem.key_path != ("name",)]
    _raise_any([*problems, *ground.problems, *found, *check_names(tree, ground)])
    assert form is not None
    return _meant(tree, form, ground, text)


def _read_forms(tree: Table, ground: Ground) -> tuple[SpecForm | None, list[Problem]]:
    from pydantic import ValidationError

    from turnout_templates.spec.forms import spec_form
    from turnout_templates.spec.shorthands.table import FORMATIONS

    try:
        form = spec_form(frozenset(FORMATIONS) & frozenset(tree.entries))
        return form.model_validate(_plain(tree), context=ground.setting), []
    except ValidationError as error:
        from turnout_templates.spec.problems import problems_of

        return None, problems_of(error, tree)


def _meant(tree: Table, form: SpecForm, ground: Ground, text: str) -> LocatedSpec:
    from turnout_templates.spec.complaints import Complaints
    from turnout_templates.spec.meaning import mean_spec, units_of
    from turnout_templates.spec.names import check_names

    if form.routes is None:
        from turnout_templates.spec.shorthands.write_out import write_out

        tree = write_out(tree, form, ground, units_of(form, ground))
        expanded, found = _read_forms(tree, ground)
        _raise_any([*found, *check_names(tree, ground)])
        assert expanded is not None
        form = expanded
    complaints = Complaints()
    spec = mean_spec(form, ground, text, complaints)
    located = LocatedSpec(spec, tree)
    _raise_any(located.problem(LayoutError(sentence, remedy, path)) for path, sentence, remedy in complaints.found)
    return replace(located, spec=replace(spec, fingerprint=fingerprint_of(spec)))


def _raise_any(problems: Iterable[Problem]) -> None:
    found = list(dict.fromkeys(problems))
    if found:
        raise InputProblems(sorted(found, key=lambda problem: (problem.file, problem.line or 0, problem.column or 0)))


def _plain(node: Node) -> Any:
    """Return `node` as the dicts and lists that the forms are read from; scalars stay as they are."""
    if isinstance(node, Table):
        return {key: _plain(child) for key, child in node.entries.items()}
    if isinstance(node, Listing):
        return [_plain(item) for item in node.items]
    return node
