"""The track on paper, read back from the PDF: every rail and every frog point within a hundredth of a millimetre."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from paper.marks import BAR, along, crosses, distances, firm_lines, rings
from paper.reading import Points
from paper.samples import CASES, faces, filed_points, sheets
from samples import SAMPLES, figures

every_sample = pytest.mark.parametrize("name", SAMPLES)
every_case = pytest.mark.parametrize(("name", "paper"), CASES)


@every_case
def test_every_gauge_face_lies_on_a_line_of_every_sheet_that_shows_it(name: str, paper: str | None) -> None:
    lines = {laid.number: firm_lines(laid) for laid in sheets(name, paper)}
    for rail, points in faces(name, 2.0):
        seen = np.zeros(len(points), dtype=int)
        for laid in sheets(name, paper):
            shown = laid.framed(laid.page(points))
            seen += shown
            if shown.any():
                assert distances(points[shown], lines[laid.number]).max() < BAR, (rail, laid.number)
        assert seen.min() >= 1, rail


@every_sample
def test_no_firm_line_is_drawn_where_no_gauge_face_was_measured(name: str) -> None:
    measured = [shapely.LineString(points) for points in (*(p for _, p in faces(name, 1.0)), *filed_points(name))]
    for laid in sheets(name, None):
        points = np.concatenate([along(shapely.get_coordinates(line)) for line in firm_lines(laid)])
        assert distances(points, measured).max() < BAR, laid.number


@every_case
def test_every_frog_is_marked_at_its_points(name: str, paper: str | None) -> None:
    frogs = figures(name)["frogs"]
    found = [laid.home(place) for laid in sheets(name, paper) for place in crosses(laid.sheet)]
    assert_same_places(found, [(frog["x_mm"], frog["y_mm"]) for frog in frogs])
    found = [laid.home(place) for laid in sheets(name, paper) for place in rings(laid.sheet)]
    practical = [frog["practical"] for frog in frogs if frog["practical"]]
    assert_same_places(found, [(point["x_mm"], point["y_mm"]) for point in practical])


def assert_same_places(found: list[Points], wanted: list[tuple[float, float]]) -> None:
    """Every place found is wanted, and every wanted one is found at least once."""
    assert bool(found) == bool(wanted)
    if wanted:
        apart = np.linalg.norm(np.array(found)[:, None] - np.array(wanted)[None], axis=2)
        assert apart.min(axis=0).max() < BAR and apart.min(axis=1).max() < BAR


def test_these_checks_can_fail() -> None:
    """A fiftieth of a millimetre aside is seen, and so is a gauge face that is not there."""
    name = "04-n-curved-turnout-same-way"
    (laid,) = sheets(name, "A4")
    lines = firm_lines(laid)
    points = np.concatenate([points for _, points in faces(name, 2.0)])
    assert distances(points, lines).max() < BAR < 0.015 < distances(points + (0.0, 0.02), lines).max()
    # The gap of the frog is longer than 1 mm, so a line less leaves points bare: but for the side of the point bar that
    # is filed along the other route's face, which is no face of a rail.
    without = [distances(points, lines[:k] + lines[k + 1 :]).max() for k in range(len(lines))]
    assert sum(apart > 1.0 for apart in without) == len(lines) - len(filed_points(name))
    places = [laid.home(place) for place in crosses(laid.sheet)]
    with pytest.raises(AssertionError):
        assert_same_places(places, [(place[0] + 0.02, place[1]) for place in places])
