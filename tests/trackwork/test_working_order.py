"""The order in which parts are laid: each once, and nothing after what stands in its way."""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest
import samples
from msgspec.structs import replace
from samples import SAMPLES
from trackwork.building import built, plain

from turnout_templates.trackwork.bench.crowding import frogs_near, innermost_first
from turnout_templates.trackwork.bench.working_order import LayStep, throw_bar_name, working_order
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.model import Trackwork

every_sample = pytest.mark.parametrize("name", SAMPLES)


@cache
def laid(name: str) -> tuple[Trackwork, tuple[LayStep, ...], dict[str, int]]:
    """Return the trackwork of a sample, its steps, and for each part how many are laid before it."""
    work = samples.job(name).trackwork
    steps = working_order(work)
    return work, steps, {part: i for i, part in enumerate(part for step in steps for part in step.parts)}


@every_sample
def test_each_part_is_laid_once(name: str) -> None:
    work, steps, _ = laid(name)
    bars = [throw_bar_name(switch.id) for switch, made in work.works() if made.bar is not None]
    rails = [*(piece.id for piece in work.pieces), *(wing.id for wing in work.wings)]
    wanted = [*rails, *(frog.id for frog in work.frogs), *(guard.id for guard in work.guards), *bars]
    assert Counter(part for step in steps for part in step.parts) == Counter(wanted)


@every_sample
def test_a_guide_comes_after_the_rail_it_lies_along(name: str) -> None:
    work, _, place = laid(name)
    for guide in (*work.wings, *work.guards):
        low, high = guide.ends
        along = {
            piece.id
            for piece in work.pieces
            for stretch in piece.stretches
            if stretch.owner == guide.beside and stretch.low < high and stretch.high > low
        }
        own = {piece.id for piece in work.pieces if guide.id in piece.bent_with}
        assert all(place[piece] < place[guide.id] for piece in along - own), guide.id


@every_sample
def test_a_nose_comes_after_its_elbow_and_a_wing_after_its_v_and_every_k_that_it_might_cover(name: str) -> None:
    work, _, place = laid(name)
    made: dict[str, set[str]] = {frog.id: set() for frog in work.frogs}
    for piece in work.pieces:
        for end in piece.ends:
            if end.kind in ("point", "spliced", "nose", "elbow"):
                made[str(end.at)].add(piece.id)
    ends = [(end, piece.id) for piece in work.pieces for end in piece.ends]
    elbows = [(end.at, name) for end, name in ends if end.kind in ("elbow", "mitre")]
    for end, name in ends:
        if end.kind == "nose" and name not in {other for _, other in elbows}:
            assert all(place[other] < place[name] for at, other in elbows if at == end.at), (end.at, name)
    near = frogs_near(work.frogs)
    for wing in work.wings:
        own = {piece.id for piece in work.pieces if wing.id in piece.bent_with}
        others = [other for _, other in near[wing.frog] if work.frog(other).kind == "K"]
        for frog in (wing.frog, *others):
            assert all(place[piece] < place[wing.id] for piece in made[frog] - own), (wing.id, frog)


@every_sample
def test_a_point_comes_after_the_rails_it_lies_behind(name: str) -> None:
    work, _, place = laid(name)
    begun = {(p.bar, end.at): p.id for p in work.pieces for end in p.ends if end.kind == "point of switch"}
    for contact in work.contacts:
        if contact.kind == "point behind stock rail":
            stock = [
                piece.id
                for piece in work.pieces
                if piece.bar == contact.second and all(end.kind != "point of switch" for end in piece.ends)
            ]
            assert all(place[piece] < place[begun[contact.first, contact.at]] for piece in stock), contact


@every_sample
def test_throw_bars_come_last_and_guards_before_them(name: str) -> None:
    _, steps, _ = laid(name)
    kinds = [step.kind for step in steps]
    last = [kind for kind in kinds if kind in ("guards", "throw bar")]
    assert kinds[len(kinds) - len(last) :] == sorted(last, key=["guards", "throw bar"].index)


def test_a_plain_turnout_is_laid_as_it_is_by_hand() -> None:
    """First rail, frog, wings, second stock rail, closure rails, points, guards, throw bar: common practice."""
    steps = working_order(built(plain("6")))
    assert [step.kind for step in steps] == [
        "first rails", "frog", "wings", "stock rails", "closure rails", "points", "guards", "throw bar",
    ]  # fmt: skip


def test_the_innermost_of_three_frogs_comes_first_and_a_k_before_all() -> None:
    work, _, _ = laid("01-plain-no-6")
    at = {"A": 0.0, "B": 30.0, "C": 62.0, "far": 500.0}
    frogs = [replace(work.frogs[0], id=name, point=(x, 0.0)) for name, x in at.items()]

    def order(frogs: list[Frog]) -> list[str]:
        places = innermost_first(frogs, frogs_near(frogs))
        return sorted(places, key=places.__getitem__)

    assert order(frogs) == ["B", "A", "C", "far"]  # B reaches both of the others, A is nearer to it than C
    frogs[2] = replace(frogs[2], kind="K")
    assert order(frogs) == ["C", "B", "A", "far"]


@every_sample
def test_a_rail_is_laid_before_any_frog_is_gauged_from_it(name: str) -> None:
    """In a stub with three ways each rail of the middle one ends in a frog or swings: one beyond the toe serves."""
    work, steps, _ = laid(name)
    kinds = [step.kind for step in steps if step.kind in ("first rails", "frog")]
    assert not work.switches or kinds[:1] != ["frog"]
