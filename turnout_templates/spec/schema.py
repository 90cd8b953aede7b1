"""Turn the forms into the JSON Schema that editors check and complete a spec with.

`spec.schema.json` beside this module is the schema as published; `python -m turnout_templates.spec.schema` writes it
anew, and a test fails when it is out of step with the forms.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

SCHEMA_FILE = Path(__file__).with_name("spec.schema.json")


def spec_schema() -> dict[str, Any]:
    """Return the JSON Schema of a spec, every key described."""
    from turnout_templates.spec.forms import whole_spec

    schema: dict[str, Any] = _tidied(whole_spec().model_json_schema(by_alias=True, mode="validation"))
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def schema_text() -> str:
    """Return the schema as the text of its file."""
    return json.dumps(spec_schema(), indent=2, ensure_ascii=False) + "\n"


def _tidied(node: Any) -> Any:
    """Return `node` without the nulls and defaults that stand for a key left out, and without generated titles."""
    if isinstance(node, list):
        return [_tidied(item) for item in node]
    if not isinstance(node, dict):
        return node
    kept = {
        key: _tidied(value)
        for key, value in node.items()
        if key != "default" and not (key == "title" and isinstance(value, str))
    }
    choices = [choice for choice in kept.get("anyOf", ()) if choice != {"type": "null"}]
    if len(choices) == 1:
        inner = choices[0]
        kept = {**inner, **{key: value for key, value in kept.items() if key != "anyOf"}}
    elif choices:
        kept["anyOf"] = choices
    return kept


if __name__ == "__main__":
    SCHEMA_FILE.write_text(schema_text(), "utf-8")
