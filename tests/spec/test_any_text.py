"""Whatever the text: a spec, or its mistakes; never a traceback, never long."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from spec.texts import EVERY_KEY, PLAIN, TWO_GAUGES

from turnout_templates.errors import InputProblems
from turnout_templates.spec import expanded_yaml, read_spec

# ruff: noqa: E501  (fragments side by side)
FRAGMENTS = [
    "1:9", "no", "{", "}", "[", "]", ":", "- ", "\n", "  ", "frog: ", "&a", "*a", "!!x", "|", "end", "-3 mm", "1e999 mm",
    "9" * 50, "é", "½ in", "\x85", "\u2028", "\ufeff", "'", '"', "#", "? ", "<<: ", "%", "---", "...", "\t", "null", "~",
    "0 mm", "curve: {", "leaves: main", "at: end", "scale", "1/0", "deg", "@", "`", ",", "\r", "\x00", "\ud800", "from: ",
    "base: a.yaml", "turnout: ", "points: ", "{radius: 1 mm, turn: left}", "through: curved",
]  # fmt: skip


def outcome(text: str) -> str:
    """Return how `text` is taken; anything but a spec or its problems is a traceback, and fails the test."""
    try:
        located = read_spec(text, file="a.yaml", folder=None)
    except InputProblems as told:
        assert told.problems
        for problem in told.problems:
            assert problem.sentence and problem.file == "a.yaml"
        return "problems"
    expanded = expanded_yaml(located)
    again = read_spec(expanded, file="e.yaml", folder=None)
    assert again.spec.fingerprint == located.spec.fingerprint
    return "spec"


@st.composite
def mutated(draw: st.DrawFn) -> str:
    text = draw(st.sampled_from([PLAIN, TWO_GAUGES, EVERY_KEY]))
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(text)))
        end = draw(st.integers(start, min(len(text), start + 12)))
        text = text[:start] + draw(st.sampled_from(["", *FRAGMENTS])) + text[end:]
    return text


KEYS = st.sampled_from(
    ["spec", "name", "scale", "gauges", "rail", "ties", "turnout", "routes", "path", "curve", "frog", "leaves", "at",
     "hand", "points", "main", "lead", "bend", "track_standard", "base", "units", "start", "easement", "through", "from",
     "standard"]
)  # fmt: skip
VALUES = st.sampled_from(
    ["1", "HO", "12 mm", "left", "end", "main", "code 70", "6", "1:9", "5 deg", "NEM 110", "curved", "tangent", "in"]
) | st.text(max_size=8)
TREES = st.recursive(
    VALUES, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=5), max_leaves=20
)


def flow(tree: object) -> str:
    if isinstance(tree, dict):
        return "{" + ", ".join(f"{key}: {flow(value)}" for key, value in tree.items()) + "}"
    if isinstance(tree, list):
        return "[" + ", ".join(map(flow, tree)) + "]"
    return '"' + str(tree).replace("\\", "\\\\").replace('"', '\\"') + '"'


@settings(max_examples=300)
@given(mutated())
def test_a_spec_changed_by_chance(text: str) -> None:
    outcome(text)


@settings(max_examples=200)
@given(st.dictionaries(KEYS, TREES, max_size=8))
def test_keys_and_values_thrown_together(tree: dict[str, object]) -> None:
    outcome(
        "\n".join(f"{key}: {flow(value)}" for key, value in {"spec": "1", "name": "x", "scale": "HO", **tree}.items())
    )


@settings(max_examples=200)
@given(st.text(max_size=60))
def test_any_text(text: str) -> None:
    outcome(text)


def test_the_mutations_reach_both_outcomes() -> None:
    """Else the tests above would be looking at one side only."""
    found = {outcome(PLAIN.replace("frog: 6", change)) for change in ("frog: 7", "frog: x", "radius: 1 m", "radius: 1")}
    assert found == {"spec", "problems"}


def test_hostile_sizes_are_refused_by_a_cap() -> None:
    """Each of these would keep an uncapped reader busy for minutes, or run it out of stack."""
    for text, phrase in (
        ("[" * 200_000, "nested too deeply"),
        ("a: " + "{b: " * 50_000, "nested too deeply"),
        ("- " * 100_000, "nested too deeply"),
        ("a" * 300_000, "too large"),
    ):
        with pytest.raises(InputProblems, match=phrase):
            read_spec(text, file="a.yaml", folder=None)
