"""Where the gauge is wider it says so: beside the curve, by ticks on the rail that moves, and on page 2."""

from __future__ import annotations

import math

import pytest
from trackwork.building import job, spec

from turnout_templates.drafting import styles
from turnout_templates.drafting.draft import draft_drawing
from turnout_templates.drafting.extent import points_to_show
from turnout_templates.drafting.obstacles import poses_along
from turnout_templates.drawing.items import Drawing, MarkItem, TextItem
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.pipeline import Job
from turnout_templates.reports.leading import leading_blocks


def curve(turn: str, straight: float = 150, **keys: str) -> Job:
    path = f"[straight: {straight}, curve: {{radius: 500, turn: {turn}, length: 200}}, straight: 150]"
    return job(spec(f"main: {{widening: {{by: 0.3, below: 600, taper: 100}}, path: {path}}}", **keys))


def drawn(done: Job) -> Drawing:
    return draft_drawing(done.trackwork, done.findings)


def labels(done: Job) -> list[str]:
    texts = [item.text for item in drawn(done).items if isinstance(item, TextItem) and item.layer == styles.LABELS]
    return [text for text in texts if text.startswith("gauge")]


def test_the_label_says_how_much_and_from_where_to_where() -> None:
    assert labels(curve("left")) == ["gauge + 0.3 mm from 150 mm to 350 mm, tapers from 50 mm and to 450 mm"]


def test_a_taper_that_is_cut_off_begins_at_the_end_of_the_track() -> None:
    """10 mm of it are left, on which a tenth of the way is still to go."""
    assert labels(curve("left", 10)) == ["gauge + 0.3 mm from 10 mm to 210 mm, tapers from 0 mm and to 310 mm"]


@pytest.mark.parametrize(("turn", "side"), [("left", 1), ("right", -1)])
def test_ticks_stand_on_the_rail_that_moves(turn: str, side: int) -> None:
    done = curve(turn)
    path = done.layout.route("main").path
    ticks = [item for item in drawn(done).items if isinstance(item, MarkItem) and item.layer == styles.RAILS]
    wanted = {50.0: 0.0, 150.0: 0.3, 350.0: 0.3, 450.0: 0.0}
    assert len(ticks) == len(wanted)
    for tick, (station, more) in zip(ticks, wanted.items(), strict=True):
        assert math.dist(tick.at, path.point_at(station, side * (16.4846 / 2 + more))) < 1e-9


def test_page_2_says_it_of_the_route_and_of_the_gauge_with_the_source() -> None:
    rows = [str(row) for block in leading_blocks(curve("left").trackwork, ()) for row in block.rows]
    (route,) = [row for row in rows if row.startswith("Route main")]
    assert "gauge + 0.3 mm from 150 mm to 350 mm" in route and "given in the spec" in route
    (gauge,) = [row for row in rows if row.startswith("Gauge standard")]
    assert "16.785 mm where it is widened most" in gauge  # 16.4846 + 0.3


def test_page_2_of_plain_gauge_says_nothing_of_it() -> None:
    plain = job(spec("main: {path: [straight: 200]}"))
    assert "widened" not in str(leading_blocks(plain.trackwork, ()))


def test_what_is_shown_and_kept_clear_lies_where_the_rails_do() -> None:
    work = curve("left").trackwork
    route = work.layout.route("main")
    found = [pose.point for bar in work.bars for stretch in bar.stretches for pose in poses_along(work, stretch)]
    shown = list(points_to_show(work, 5.0))
    found += shown[: -len(work.ties)]
    on_rails = 0
    for point in found:
        station, left = route.path.foot_near(point, nearest_station(route.path, point)[0])
        on_rails += any(abs(left - route.offset_at(face, station)) < 1e-9 for face in route.faces)
    # Two rails of 500 mm: each in lengths of 6 mm, and at every 5 mm.
    assert on_rails >= 2 * (500 // 6 + 500 // 5)
