"""Specs drawn by chance: each is measured or refused in words, with nothing but finite numbers, and never at length."""

from __future__ import annotations

import json
from collections import Counter

import pytest
from trackwork.chance import Chance

from turnout_templates.errors import InputProblems
from turnout_templates.geometry import crossing, piece
from turnout_templates.pipeline import measure_text

LOOKS = 400_000
"""How often a search may look at a distance, and how often a clothoid may be integrated, for one spec."""


@pytest.fixture
def capped(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """Count the work of the two innermost loops, and stop one that runs away."""
    done: Counter[str] = Counter()

    def counting(name: str, owner: type, method: str) -> None:
        original = getattr(owner, method)

        def counted(*args: object) -> object:
            done[name] += 1
            assert done[name] < LOOKS, f"more than {LOOKS} {name}"
            return original(*args)

        monkeypatch.setattr(owner, method, counted)

    counting("looks", crossing._Distance, "_look")
    counting("integrations", piece.Piece, "_integrate")
    return done


@pytest.mark.parametrize("start", range(0, 64, 8))
def test_a_spec_is_measured_or_refused(start: int, capped: Counter[str]) -> None:
    for seed in range(start, start + 8):
        capped.clear()
        try:
            figures = measure_text(Chance(seed).text())
        except InputProblems as refused:
            for problem in refused.problems:
                assert problem.sentence.endswith(".") and problem.remedy and problem.line, seed
            continue
        assert json.loads(json.dumps(figures, allow_nan=False)) == figures
        laid = [bar["length_mm"] for bar in figures["rails"]]
        assert laid and min(laid) > 0


def test_chance_draws_both_kinds_and_much_of_what_there_is() -> None:
    texts = [Chance(seed).text() for seed in range(64)]
    for word in (
        "easement",
        "frog:",
        "frog_ratio",
        "frog_angle",
        "to: frog",
        "through: curved",
        "entry",
        "spread",
        "stub",
        "fixed",
        "end",
        "lead",
        "bend",
    ):
        assert sum(word in text for text in texts) >= 6, word
