"""Yards: branches of branches and many turnouts on one lead, with work that grows no faster than they do."""

from __future__ import annotations

from collections import Counter

import pytest
from trackwork.building import built, job, spec
from trackwork.sites import fan, ladder

from turnout_templates.geometry import crossing, piece
from turnout_templates.geometry.path import Path


def test_a_ladder_of_twelve() -> None:
    work = built(ladder(12))
    assert len(work.switches) == 12 and len(work.frogs) == 12 and len(work.guards) == 24
    assert {frog.kind for frog in work.frogs} == {"V"}
    assert [switch.station for switch in work.switches] == pytest.approx([60 + 260 * i for i in range(12)])
    assert Counter(frog.switch for frog in work.frogs) == {f"S{i}": 1 for i in range(1, 13)}
    # All turnouts are alike: the same lead, the same throw, on alternate sides.
    assert [frog.lead for frog in work.frogs] == pytest.approx([work.frogs[0].lead] * 12, abs=1e-7)
    assert [switch.hand for switch in work.switches] == ["left", "right"] * 6
    assert not work.unguarded


def test_a_fan_of_twelve() -> None:
    """Every track leaves the one before it, to alternate sides, so that the yard keeps its direction."""
    work = built(fan(12))
    assert len(work.switches) == 11
    assert all(f.number == pytest.approx(5, rel=1e-10) for f in work.frogs if f.switch and f.lead)
    parents = {route.name: route.departure.parent for route in work.layout if route.departure}
    assert parents == {f"t{i}": f"t{i - 1}" for i in range(1, 12)}


def looks_and_poses(count: int, monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """Return how often the innermost loops run for a ladder of so many tracks."""
    done: Counter[str] = Counter()

    def counted(name: str, owner: type, method: str) -> None:
        original = getattr(owner, method)

        def counting(*args: object) -> object:
            done[name] += 1
            return original(*args)

        monkeypatch.setattr(owner, method, counting)

    with monkeypatch.context():
        counted("looks", crossing._Distance, "_look")
        counted("feet", piece.Piece, "foot")
        counted("walks", Path, "foot_near")
        job.__wrapped__(spec(ladder(count)))
        monkeypatch.undo()
    return done


def test_work_grows_with_the_number_of_turnouts(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twice the turnouts on twice the length take twice the work: a tenth more for what is asked of the whole lead."""
    small, large = looks_and_poses(8, monkeypatch), looks_and_poses(16, monkeypatch)
    for name in ("looks", "feet", "walks"):
        assert small[name] > 1000
        assert large[name] < 2.2 * small[name], name
