"""The published schema: in step with the forms, every key described, and it takes the samples."""

import json
from typing import Any

import pytest
from ruamel.yaml import YAML
from spec.texts import EVERY_KEY, PLAIN, TWO_GAUGES

from turnout_templates.spec import forms, path_forms
from turnout_templates.spec.schema import SCHEMA_FILE, schema_text, spec_schema


def test_the_file_is_in_step() -> None:
    """If this is red: python -m turnout_templates.spec.schema."""
    assert SCHEMA_FILE.read_text("utf-8") == schema_text()


FORMS = [
    form
    for form in {**vars(path_forms), **vars(forms)}.values()
    if isinstance(form, type) and issubclass(form, path_forms.Form)
]


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.__name__)
def test_every_key_says_what_it_is_for(form: type[path_forms.Form]) -> None:
    assert form.__doc__
    for name, field in form.model_fields.items():
        assert field.description and len(field.description) > 8, name


def test_nothing_of_python_shows_in_the_schema() -> None:
    text = json.dumps(spec_schema())
    assert '"null"' not in text and '"default"' not in text and '"from_"' not in text


def test_it_knows_the_keys_of_the_contract() -> None:
    schema = spec_schema()
    assert {"spec", "name", "scale"} <= set(schema["required"])
    route = schema["$defs"]["RouteForm"]["properties"]
    assert set(route) == {
        "gauges",
        "common_rail",
        "start",
        "leaves",
        "at",
        "hand",
        "points",
        "joins",
        "facing",
        "path",
        "bend",
        "widening",
    }
    assert set(schema["$defs"]["EasementForm"]["properties"]) == {"length", "from", "to"}


@pytest.mark.parametrize("text", [TWO_GAUGES, PLAIN, EVERY_KEY])
def test_it_takes_good_specs(text: str) -> None:
    assert list(_mistakes(YAML(typ="safe", pure=True).load(text), spec_schema(), spec_schema())) == []


@pytest.mark.parametrize(
    ("text", "change"),
    [(TWO_GAUGES, ("hand:", "hands:")), (PLAIN, ("left", "up")), (TWO_GAUGES, ("straight: 18 in", "18 in"))],
)
def test_it_refuses_bad_ones(text: str, change: tuple[str, str]) -> None:
    assert list(_mistakes(YAML(typ="safe", pure=True).load(text.replace(*change)), spec_schema(), spec_schema()))


_TYPES = {"string": str, "number": int | float, "object": dict, "array": list}


def _mistakes(value: Any, schema: dict[str, Any], root: dict[str, Any]) -> Any:
    """Yield what in `value` the few words of JSON Schema that ours uses forbid."""
    if "$ref" in schema:
        yield from _mistakes(value, root["$defs"][schema["$ref"].rsplit("/", 1)[1]], root)
    if "anyOf" in schema and not any(not list(_mistakes(value, choice, root)) for choice in schema["anyOf"]):
        yield "anyOf", value
    kinds = schema.get("type", [])
    kinds = [kinds] if isinstance(kinds, str) else kinds
    if kinds and not isinstance(
        value, tuple(t for kind in kinds for t in getattr(_TYPES[kind], "__args__", (_TYPES[kind],)))
    ):
        yield "type", value
    if "enum" in schema and value not in schema["enum"]:
        yield "enum", value
    if isinstance(value, dict):
        yield from (("required", key) for key in schema.get("required", ()) if key not in value)
        for key, child in value.items():
            inner = schema.get("properties", {}).get(key, schema.get("additionalProperties", True))
            if inner is False:
                yield "unknown", key
            elif isinstance(inner, dict):
                yield from _mistakes(child, inner, root)
    if isinstance(value, list) and "items" in schema:
        for item in value:
            yield from _mistakes(item, schema["items"], root)
