"""The words on a drawing: none on another, none struck out, none upside down, each tied to what it speaks of."""

from __future__ import annotations

import itertools
import math

import pytest
import shapely
from drafting.drawn import LADDER, NAMES, boxes, drawing, lines_of, texts

from turnout_templates.drafting.draft import draft_drawing
from turnout_templates.drafting.labels import Label, LabelRoom
from turnout_templates.drafting.styles import BARE, CENTRE, JOINTS, LEADERS, RAIL_NAMES, ROUTE_NAMES, TIES
from turnout_templates.drawing.bounds import text_corners
from turnout_templates.drawing.items import PathItem, TextItem
from turnout_templates.geometry.segments import LineSegment
from turnout_templates.pipeline import work_out
from turnout_templates.spec.load import read_spec

every_drawing = pytest.mark.parametrize("name", NAMES)
OVERLAP = 0.01
"""mm2 or mm: what is seen as touching, no more."""


@every_drawing
def test_no_text_lies_on_another(name: str) -> None:
    found = boxes(name)
    first, second = shapely.STRtree(found).query(found, predicate="intersects")
    for i, j in zip(first, second, strict=True):
        if i < j:
            assert found[i].intersection(found[j]).area < OVERLAP, (texts(name)[i].text, texts(name)[j].text)


@every_drawing
def test_no_line_strikes_a_text_out_but_ties_under_a_halo(name: str) -> None:
    """Amid the track words stand on ties, with white behind them; nothing else may run through any word.

    White is drawn over what came before, so this holds the halos off the rails as well.
    """
    tree = shapely.STRtree(boxes(name))
    for item in drawing(name).items:
        if isinstance(item, TextItem):
            continue
        for line in lines_of(item):
            for k in tree.query(line, predicate="intersects"):
                words = texts(name)[k]
                if item.layer in (TIES, BARE) and (
                    words.layer in (CENTRE, JOINTS, RAIL_NAMES, ROUTE_NAMES) or words.part == item.part
                ):
                    assert words.halo
                    continue
                assert line.intersection(boxes(name)[k]).length < OVERLAP, (words.text, item.layer, item.part)


@every_drawing
def test_no_text_is_upside_down(name: str) -> None:
    """With the drawing upright: baselines run from -80 to 100 degrees."""
    for words in texts(name):
        degrees = math.degrees(math.remainder(words.angle, math.tau))
        assert -80.0 - 1e-9 <= degrees <= 100.0 + 1e-9, words.text


@every_drawing
def test_each_label_has_a_leader_from_its_feature_to_its_first_or_last_letter(name: str) -> None:
    labels = [words for words in texts(name) if words.layer in ("labels", "findings")]
    leaders = [item for item in drawing(name).items if item.layer == LEADERS]
    assert len(labels) == len(leaders)
    for words, leader in zip(labels, leaders, strict=True):
        assert isinstance(leader, PathItem) and leader.part == words.part
        (segment,) = leader.segments
        assert isinstance(segment, LineSegment)
        box = shapely.Polygon(text_corners(words))
        assert box.distance(shapely.Point(segment.end)) < 1.0 < box.distance(shapely.Point(segment.start))
        # Short enough to be followed: 32 steps of 2.5 mm out at most, from beyond the track that the leader crosses.
        assert math.dist(segment.start, segment.end) < 80.0 + 10.0


def test_a_label_takes_the_nearest_free_spot_and_the_more_important_first() -> None:
    room = LabelRoom()
    same = [Label(text, (0.0, 0.0), 0.0, 1, 5.0, rank) for text, rank in (("second", 2), ("first", 1), ("third", 3))]
    placed = [item for item in room.place_all(same) if isinstance(item, TextItem)]
    assert [item.text for item in placed] == ["first", "second", "third"]
    # The first stands right over its feature, at the distance asked for; the others step aside.
    assert abs(placed[0].at[0]) < 1.0 and placed[0].at[1] == pytest.approx(5.0)
    spread = sorted(item.at[0] for item in placed)
    assert all(high - low >= 2.1 for low, high in itertools.pairwise(spread))


def test_a_leader_goes_round_a_text_where_it_can() -> None:
    room = LabelRoom()
    wall = ((-3.0, 8.0), (3.0, 8.0), (3.0, 9.0), (-3.0, 9.0))
    label = Label("heel", (0.0, 0.0), 0.0, 1, 12.0)
    (free, _) = room.place_all([label])
    assert isinstance(free, PathItem) and free.segments[0].end[0] == pytest.approx(0.0)
    room = LabelRoom()
    room.take_text(wall)
    (leader, _) = room.place_all([label])
    assert isinstance(leader, PathItem)
    line = shapely.LineString([leader.segments[0].start, leader.segments[0].end])
    assert not line.intersects(shapely.Polygon(wall))


def test_a_text_keeps_off_a_leader_that_was_there_before() -> None:
    far, near = Label("far", (0.0, 0.0), 0.0, 1, 20.0, 1), Label("near", (0.0, 0.0), 0.0, 1, 5.0, 2)
    leader, _, _, text = LabelRoom().place_all([near, far])
    assert isinstance(leader, PathItem) and isinstance(text, TextItem) and text.text == "near"
    line = shapely.LineString([leader.segments[0].start, leader.segments[0].end])
    assert line.distance(shapely.Polygon(text_corners(text))) > 0.1


def test_a_label_makes_way_for_one_that_is_hemmed_in() -> None:
    """A slit beyond a wall, where nothing else is free but two places before it and one on the other side."""
    room = LabelRoom()
    for fixed in (
        ((-60.0, 30.0), (60.0, 30.0), (60.0, 200.0), (-60.0, 200.0)),
        ((-60.0, -200.0), (60.0, -200.0), (60.0, -1.0), (-60.0, -1.0)),
        ((-60.0, 1.0), (-1.6, 1.0), (-1.6, 200.0), (-60.0, 200.0)),
        ((4.5, 1.0), (60.0, 1.0), (60.0, 200.0), (4.5, 200.0)),
    ):
        room.take_text(fixed)
    first, hemmed = Label("one", (1.0, 0.0), 0.0, 1, 5.0, 1), Label("two", (0.0, 0.0), 0.0, 1, 15.0, 2)
    alone = [item.at for item in LabelRoom().place_all([first]) if isinstance(item, TextItem)]
    items = list(room.place_all([first, hemmed]))
    told = [item for item in items if isinstance(item, TextItem)]
    leaders = [shapely.LineString([i.segments[0].start, i.segments[0].end]) for i in items if isinstance(i, PathItem)]
    assert [item.text for item in told] == ["one", "two"] and told[0].at != alone[0]
    assert all(not line.intersects(shapely.Polygon(text_corners(item))) for line in leaders for item in told)


def test_the_collision_check_can_fail() -> None:
    """Two features at one place with no room to step aside: the first spot is taken and the texts do collide."""
    room = LabelRoom()
    room.take(((-500.0, -500.0), (500.0, -500.0), (500.0, 500.0), (-500.0, 500.0)))
    placed = [
        item
        for item in room.place_all([Label("one", (0.0, 0.0), 0.0, 1, 5.0), Label("two", (0.0, 0.0), 0.0, 1, 5.0)])
        if isinstance(item, TextItem)
    ]
    first, second = (shapely.Polygon(text_corners(item)) for item in placed)
    assert first.intersection(second).area > OVERLAP


def test_a_drawing_is_the_same_every_time() -> None:
    job = work_out(read_spec(LADDER, file="ladder.yaml", folder=None))
    assert draft_drawing(job.trackwork, job.findings) == drawing("ladder")
