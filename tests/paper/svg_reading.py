"""Turn an SVG back into strokes and texts, with a plain XML reader, in mm, y up as in the drawing."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree import ElementTree

import numpy as np
from paper.reading import STEPS, Points

NS = "{http://www.w3.org/2000/svg}"
_NUMBER = r"-?\d+(?:\.\d+)?"


@dataclass(frozen=True)
class Stroked:
    """A stroked path: its `chains`, width, dash and colour, and the ids of the groups that hold it, outermost first."""

    chains: tuple[Points, ...]
    width: float
    dash: str
    colour: str
    groups: tuple[str, ...]


def parsed(content: bytes) -> ElementTree.Element:
    """Return the root; checks that the size in mm is that of the view box, so that one unit is one mm."""
    root = ElementTree.fromstring(content)
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    for side, units in (("width", width), ("height", height)):
        size = root.attrib[side]
        assert size.endswith("mm") and float(size.removesuffix("mm")) == units
    return root


def strokes(
    element: ElementTree.Element, matrix: tuple[float, ...] = (1, 0, 0, 1, 0, 0), groups: tuple[str, ...] = ()
) -> Iterator[Stroked]:
    """Yield every stroked path under an element."""
    for child in element:
        if child.tag == f"{NS}g":
            inner = matrix
            if transform := child.attrib.get("transform"):
                found = re.fullmatch(rf"matrix\(({_NUMBER}(?:,{_NUMBER}){{5}})\)", transform)
                assert found and matrix == (1, 0, 0, 1, 0, 0), transform
                inner = tuple(map(float, found[1].split(",")))
            yield from strokes(child, inner, (*groups, child.attrib.get("id", "")))
        elif child.tag == f"{NS}path" and child.attrib.get("stroke", "none") != "none":
            yield Stroked(
                tuple(_moved(chain, matrix) for chain in _chains(child.attrib["d"])),
                float(child.attrib["stroke-width"]),
                child.attrib.get("stroke-dasharray", ""),
                child.attrib["stroke"],
                groups,
            )


def _moved(points: list[tuple[float, float]], matrix: tuple[float, ...]) -> Points:
    """Return points moved by the matrix, then turned over: y points down in the file."""
    a, b, c, d, e, f = matrix
    found = np.array(points) @ np.array([[a, b], [c, d]]) + (e, f)
    return found * (1.0, -1.0)


def _chains(data: str) -> list[list[tuple[float, float]]]:
    """Return the chains of points of path data."""
    chains: list[list[tuple[float, float]]] = []
    for letter, rest in re.findall(r"([A-Za-z])([^A-Za-z]*)", data):
        numbers = [float(found) for found in re.findall(_NUMBER, rest)]
        if letter == "M":
            chains.append([(numbers[0], numbers[1])])
        elif letter == "L":
            chains[-1].append((numbers[0], numbers[1]))
        elif letter == "A":
            chains[-1] += _arc(chains[-1][-1], numbers)
        elif letter == "C":
            chains[-1] += _cubic(chains[-1][-1], numbers)
        elif letter == "Z":
            chains[-1].append(chains[-1][0])
        else:
            raise ValueError(f"The reader does not know the command {letter}.")
    return chains


def _cubic(start: tuple[float, float], numbers: list[float]) -> Iterator[tuple[float, float]]:
    (x0, y0), (x1, y1, x2, y2, x3, y3) = start, numbers
    for k in range(1, STEPS + 1):
        t, u = k / STEPS, 1.0 - k / STEPS
        yield (
            u**3 * x0 + 3 * u * u * t * x1 + 3 * u * t * t * x2 + t**3 * x3,
            u**3 * y0 + 3 * u * u * t * y1 + 3 * u * t * t * y2 + t**3 * y3,
        )


def _arc(start: tuple[float, float], numbers: list[float]) -> Iterator[tuple[float, float]]:
    """Points of a circular arc by its ends: the centre lies square off the middle of the chord (y down)."""
    radius, other, _, large, sweep, x, y = numbers
    assert radius == other and large == 0
    dx, dy = x - start[0], y - start[1]
    chord = math.hypot(dx, dy)
    rise = math.sqrt(max(radius * radius - chord * chord / 4, 0.0))
    side = 1.0 if sweep else -1.0
    cx, cy = (start[0] + x) / 2 - side * rise * dy / chord, (start[1] + y) / 2 + side * rise * dx / chord
    turn = 2.0 * math.asin(min(chord / 2 / radius, 1.0)) * side
    first = math.atan2(start[1] - cy, start[0] - cx)
    # Chords that stray from the arc by no more than half a micrometre.
    count = max(4, math.ceil(abs(turn) / math.sqrt(8 * 0.0005 / radius)))
    for k in range(1, count + 1):
        angle = first + turn * k / count
        yield (cx + radius * math.cos(angle), cy + radius * math.sin(angle))
