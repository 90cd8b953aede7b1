"""Details that are alike are drawn once; what differs, or is the mirror image, is not."""

from __future__ import annotations

import re

from turnout_templates.drafting.details import draft_details
from turnout_templates.pipeline import work_out
from turnout_templates.spec.load import read_spec

LADDER = "spec: 1\nname: Yard\nscale: N\nladder: {{tracks: {tracks}, spacing: 1 1/2 in, frog: 6, hand: {hand}}}\n"
DOUBLE = "spec: 1\nname: Both ways\nscale: HO\ndouble_crossover: {spacing: 2 in, frog: 6, hand: left}\n"


def titles(text: str) -> list[str]:
    trackwork = work_out(read_spec(text, file="yard.yaml", folder=None)).trackwork
    return [detail.title for detail in draft_details(trackwork, 180.0, 150.0)]


def ids(title: str) -> list[str]:
    return re.findall(r"\b[FS]\d+(?=,)", title)


def test_a_ladder_of_any_length_has_five_details() -> None:
    """One turnout leaves the main and one more makes each track: all but the first are alike, frogs and switches.

    Behind the last frog no further turnout lies, and bases are filed there over other lengths.
    """
    for tracks, hand in ((5, "right"), (8, "left")):
        found = [ids(title) for title in titles(LADDER.format(tracks=tracks, hand=hand))]
        count = tracks + 1
        rest = range(2, count + 1)
        between = [f"F{k}" for k in rest if k < count]
        wanted = [["F1"], between, [f"F{count}"], ["S1"], [f"S{k}" for k in rest]]
        assert found == wanted


def test_frogs_that_routes_pass_from_either_end_are_alike() -> None:
    """Turned by half a turn a double crossover is the same, and so are opposite frogs; the mirror image of none is."""
    frogs = [set(ids(title)) for title in titles(DOUBLE) if "V frog" in title]
    assert [len(group) for group in frogs] == [2, 2, 2]
    assert {"F1", "F2"} not in frogs
    assert sorted(i for group in frogs for i in group) == ["F1", "F2", "F3", "F4", "F5", "F8"]


def test_mirror_images_are_two_details() -> None:
    """Of a double crossover's four turnouts two are of either hand, and only those of one hand are alike."""
    switches = [ids(title) for title in titles(DOUBLE) if "switch" in title]
    assert [len(group) for group in switches] == [2, 2]
    assert sorted(i for group in switches for i in group) == ["S1", "S2", "S3", "S4"]
