"""Turn what the forms found wrong into problems with file, line, column and key path."""

from __future__ import annotations

from typing import Any, get_args

from pydantic import ValidationError

from turnout_templates.errors import KeyPath, Problem
from turnout_templates.spec.forms import ClearanceForm, whole_spec
from turnout_templates.spec.path_forms import Form
from turnout_templates.spec.scalars import described, nearest
from turnout_templates.spec.tree import Node, Table, locate, problem_at

_EXAMPLES = {
    "spec": "spec: 1",
    "name": "name: Quarry, east switch",
    "scale": "scale: HO",
    "path": "path: [{straight: 600 mm}]",
    "hand": "hand: left",
    "radius": "radius: 610 mm",
    "turn": "turn: left",
    "length": "length: 300 mm",
    "from": "from: straight",
    "to": "to: {radius: 610 mm, turn: left}",
    "straight": "straight: 20 mm",
    "height": "height: 1.8 mm",
    "head": "head: 0.9 mm",
    "base": "base: 1.8 mm",
}


def problems_of(error: ValidationError, tree: Table) -> list[Problem]:
    """Return every mistake that `error` tells of in `tree`."""
    return [_problem(detail, tree) for detail in error.errors(include_url=False)]


def _problem(detail: Any, tree: Table) -> Problem:
    path: KeyPath = tuple(detail["loc"])
    kind, context = detail["type"], detail.get("ctx") or {}
    if kind == "spec":
        path = (*path, *context["at"])
        place, _ = locate(tree, path)
        return problem_at(place, path, context["sentence"], context["remedy"])
    if kind == "extra_forbidden":
        return _unknown_key(path, tree)
    if kind == "missing":
        place, _ = locate(tree, path[:-1])
        example = _EXAMPLES.get(str(path[-1]), f"{path[-1]}: ...")
        return problem_at(place, path, f'The key "{path[-1]}" is missing.', f'Add "{example}".')
    place, node = locate(tree, path)
    return problem_at(place, path, _found(kind, detail["input"]), _dash_remedy(node) or _shape_remedy(path))


def _unknown_key(path: KeyPath, tree: Table) -> Problem:
    key = str(path[-1])
    _, parent = locate(tree, path[:-1])
    place = parent.keys[key] if isinstance(parent, Table) and key in parent.keys else parent.place
    form = _form_at(path[:-1])
    known = [] if form is None else [field.alias or name for name, field in form.model_fields.items()]
    remedy = _run_together(key, known, form) or nearest(key, known)
    return problem_at(place, path, f'The key "{key}" is unknown here.', remedy)


def _run_together(key: str, known: list[str], form: type[Form] | None) -> str:
    """Return the remedy for a key that is two words of which the first is a key, as in `main radius` or `hand:left`."""
    first, mark, rest = key.partition(":" if ":" in key else " ")
    rest = rest.strip()
    if not mark or first not in known or not rest or form is None:
        return ""
    inner = _form_in(next(f.annotation for name, f in form.model_fields.items() if (f.alias or name) == first))
    if inner is not None and rest in inner.model_fields:
        return f'Write "{first}: {{{rest}: ...}}".'
    return f'Write "{first}: {rest}", with a space after the colon.'


def _found(kind: str, value: Any) -> str:
    if kind == "too_short":
        return "There is nothing in it."
    expected = {
        "list_type": "a list",
        "dict_type": "a block of `key: value` lines",
        "model_type": "a block of `key: value` lines",
    }.get(kind, "something else")
    return f"Found {described(value)} where {expected} is expected."


def _dash_remedy(node: Node) -> str:
    """Return the remedy where a dash is joined to the first key, as in `-straight: 20 in`."""
    first = next(iter(node.entries), "") if isinstance(node, Table) else ""
    return f'Write a dash and a space: "- {first[1:]}: ...".' if first.startswith("-") else ""


def _shape_remedy(path: KeyPath) -> str:
    if len(path) >= 2 and path[-2] == "path":
        return "A piece is written as - straight: LENGTH, or - curve: {radius: ..., turn: ..., length: ...}."
    if path and path[-1] == "path":
        return "A path is a list of pieces, each on a line that begins with a dash."
    if path and path[-1] == "gauges" and len(path) > 1:
        return "Write the gauges as a list: [standard]."
    form = _form_at(path)
    if form is None:
        return "Write its entries below it, each as KEY: VALUE."
    return f"It takes {', '.join(field.alias or name for name, field in form.model_fields.items())}."


def _form_at(path: KeyPath) -> type[Form] | None:
    """Return the form that the mapping under `path` is read with."""
    form: type[Form] | None = whole_spec()
    for index, key in enumerate(path):
        if form is None:
            return None
        fields = {field.alias or name: field.annotation for name, field in form.model_fields.items()}
        if key in fields:
            inner = fields[str(key)]
            form = _form_in(inner)
        elif index and (isinstance(key, int) or path[index - 1] in ("routes", "gauges")):
            continue
        else:
            extra = form.__annotations__.get("__pydantic_extra__")
            form = ClearanceForm if extra is not None else None
    return form


def _form_in(annotation: Any) -> type[Form] | None:
    if isinstance(annotation, type) and issubclass(annotation, Form):
        return annotation
    return next((form for part in get_args(annotation) if (form := _form_in(part)) is not None), None)
