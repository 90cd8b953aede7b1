"""The samples, worked out, drawn, written and read back, each once; and where their gauge faces lie by the figures.

The curves are evaluated here again, from the routes that `measure` prints: heading by the change of curvature, place by
quadrature of the direction.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from paper.reading import Points, Sheet, read_pages
from samples import SAMPLES, figures, job

from turnout_templates.pipeline import Drawn, PaperChoice, draw, write

PAPERS = ("Letter", "Legal", "Tabloid", "A4", "A3", "230x330 mm")
CASES: list[tuple[str, str | None]] = [
    *((name, None) for name in SAMPLES),
    *(("02-two-gauge-curve-narrow-leaves", paper) for paper in PAPERS),
]
"""Each sample on the paper that goes with its units, and one of them on every paper."""
NODES, WEIGHTS = np.polynomial.legendre.leggauss(24)


@cache
def drawn(name: str, paper: str | None) -> Drawn:
    """Return a sample drawn on paper; None takes the paper that goes with its units."""
    return draw(job(name), PaperChoice(paper))


@cache
def written(name: str, form: str, paper: str | None) -> dict[str, bytes]:
    """Return the files of a sample by their names."""
    return dict(write(drawn(name, paper), (form,), "sample"))


@cache
def pages(name: str, paper: str | None) -> list[Sheet]:
    """Return all pages of a sample's PDF as they read back."""
    return read_pages(written(name, "pdf", paper)["sample.pdf"])


def pages_labelled(name: str, paper: str | None, start: str) -> list[tuple[str, Sheet]]:
    """Return (label, page as it reads back) for the pages whose label begins with `start`."""
    labels = [page.label for page in drawn(name, paper).document.pages]
    read = zip(labels, pages(name, paper), strict=True)
    return [(label, sheet) for label, sheet in read if label.startswith(start)]


@dataclass(frozen=True)
class Laid:
    """A sheet as it reads back, and the move that the plan says put the drawing there (turn, shift)."""

    number: int
    sheet: Sheet
    turn: float
    shift: tuple[float, float]
    frame: tuple[float, float, float, float]

    def home(self, points: Points) -> Points:
        """Return points of the page in mm of the drawing: the placement undone."""
        cosine, sine = np.cos(self.turn), np.sin(self.turn)
        return (np.asarray(points) - self.shift) @ np.array([[cosine, -sine], [sine, cosine]])

    def page(self, points: Points) -> Points:
        """Return points of the drawing in mm of the page."""
        cosine, sine = np.cos(self.turn), np.sin(self.turn)
        return np.asarray(points) @ np.array([[cosine, sine], [-sine, cosine]]) + self.shift

    def framed(self, points: Points, *, inside: float = 0.0) -> Any:
        """Tell which points of the page lie in the frame made smaller by `inside` mm."""
        left, bottom, right, top = self.frame
        x, y = np.asarray(points).T
        return (x >= left + inside) & (x <= right - inside) & (y >= bottom + inside) & (y <= top - inside)


@cache
def sheets(name: str, paper: str | None) -> list[Laid]:
    """Return the sheets of a sample with their places."""
    return laid_sheets(drawn(name, paper), pages(name, paper))


def laid_sheets(made: Drawn, read: list[Sheet]) -> list[Laid]:
    """Return the sheets of what was drawn, and read back, with their places."""
    own = [sheet for page, sheet in zip(made.document.pages, read, strict=True) if page.label.startswith("Sheet ")]
    return [
        Laid(
            sheet.number,
            page,
            sheet.placement.turn,
            (sheet.placement.dx, sheet.placement.dy),
            (sheet.frame.left, sheet.frame.bottom, sheet.frame.right, sheet.frame.top),
        )
        for sheet, page in zip(made.plan.sheets, own, strict=True)
    ]


def face_points(measured: dict[str, Any], piece: dict[str, Any], count: int) -> Points:
    """Return `count` points along a piece of gauge face, whose offset changes evenly with the station on a taper."""
    stations = np.linspace(piece["from_mm"], piece["to_mm"], count)
    offsets = np.linspace(piece["offset_mm"], piece.get("offset_to_mm", piece["offset_mm"]), count)
    return along_route(measured["routes"][piece["route"]], stations, offsets)


def along_route(route: dict[str, Any], stations: Any, offset: Any) -> Points:
    """Return the points `offset` mm (one, or one for each) to the left of a route's reference line at some stations."""
    stations = np.asarray(stations, dtype=float)
    offset = np.broadcast_to(offset, stations.shape)
    found = np.empty((len(stations), 2))
    begin = 0.0
    for piece in route["pieces"]:
        length = piece["length_mm"]
        own = (stations >= begin - 1e-9) & (stations <= begin + length + 1e-9)
        found[own] = _along_piece(piece, stations[own] - begin, offset[own])
        begin += length
    return found


def _along_piece(piece: dict[str, Any], s: Any, offset: Any) -> Points:
    radii = piece["radii_mm"] if piece["kind"] == "easement" else [piece["radius_mm"]] * 2
    k0, k1 = (1.0 / radius if radius else 0.0 for radius in radii)
    start = piece["start"]
    first = np.radians(start["heading_deg"])

    def heading(at: Any) -> Any:
        return first + k0 * at + (k1 - k0) / piece["length_mm"] * at * at / 2

    between = s[:, None] / 2 * (NODES + 1.0)
    x = start["x_mm"] + s / 2 * (np.cos(heading(between)) @ WEIGHTS)
    y = start["y_mm"] + s / 2 * (np.sin(heading(between)) @ WEIGHTS)
    end = heading(s)
    return np.column_stack((x - offset * np.sin(end), y + offset * np.cos(end)))


@cache
def filed_points(name: str) -> list[Points]:
    """Return the outlines of heads filed to the point of a V: one side of each carries the other route's wheels."""
    return [
        np.array([*filed["outline"], filed["outline"][0]])
        for rail in figures(name)["rails"]
        if any(end["as"] == "point" for end in rail["ends"])
        for filed in rail["filed"]
    ]


def faces(name: str, step: float) -> list[tuple[str, Points]]:
    """Return (rail, points along its gauge face, at most `step` mm apart) for each piece of each rail measured."""
    measured = figures(name)
    found = []
    for rail in measured["rails"]:
        for piece in rail["pieces"]:
            count = 2 + int((piece["to_mm"] - piece["from_mm"]) / step)
            found.append((rail["id"], face_points(measured, piece, count)))
    return found
