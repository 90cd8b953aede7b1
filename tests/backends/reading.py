"""Read a PDF back without the library that wrote it: every painted path and text of a page, in mm of the page."""

import io
import math
from collections.abc import Iterable
from dataclasses import dataclass, field

import pikepdf

from turnout_templates.geometry.pose import Point

Matrix = tuple[float, float, float, float, float, float]
MM = 25.4 / 72.0


@dataclass
class PaintedPath:
    """One painted path: subpaths of points (ends of lines and cubics, and controls apart), its look, its window."""

    subpaths: list[list[Point]]
    controls: list[Point]
    width: float
    dash: tuple[float, ...]
    phase: float
    grey: float
    painted: str
    window: tuple[float, float, float, float] | None

    @property
    def points(self) -> list[Point]:
        return [point for subpath in self.subpaths for point in subpath]


@dataclass
class PageContent:
    """The paths of a page in painting order, and where texts start: (x, y, size in mm, white or not)."""

    paths: list[PaintedPath] = field(default_factory=list)
    text_starts: list[Point] = field(default_factory=list)


@dataclass
class _State:
    matrix: Matrix = (1, 0, 0, 1, 0, 0)
    width: float = 1.0
    dash: tuple[float, ...] = ()
    phase: float = 0.0
    stroke: float = 0.0
    fill: float = 0.0
    window: tuple[float, float, float, float] | None = None


def _times(m: Matrix, n: Matrix) -> Matrix:
    """First m, then n."""
    return (
        m[0] * n[0] + m[1] * n[2],
        m[0] * n[1] + m[1] * n[3],
        m[2] * n[0] + m[3] * n[2],
        m[2] * n[1] + m[3] * n[3],
        m[4] * n[0] + m[5] * n[2] + n[4],
        m[4] * n[1] + m[5] * n[3] + n[5],
    )


def _mm(matrix: Matrix, x: float, y: float) -> Point:
    return (
        (x * matrix[0] + y * matrix[2] + matrix[4]) * MM,
        (x * matrix[1] + y * matrix[3] + matrix[5]) * MM,
    )


def open_pdf(content: bytes) -> pikepdf.Pdf:
    return pikepdf.open(io.BytesIO(content))


def read_page(page: pikepdf.Page) -> PageContent:
    """Return what a page paints; raises ValueError for an operator that this reader does not know."""
    found = PageContent()
    state, stack = _State(), []
    subpaths: list[list[Point]] = []
    controls: list[Point] = []
    clipping = False
    text: Matrix = (1, 0, 0, 1, 0, 0)
    for operands, operator in pikepdf.parse_content_stream(page):
        name = str(operator)
        if name in ("d", "Tf", "Tj"):
            numbers: list[float] = []
        else:
            numbers = [float(operand) for operand in operands]
        if name == "q":
            stack.append(_State(**{slot: getattr(state, slot) for slot in _State.__dataclass_fields__}))
        elif name == "Q":
            state = stack.pop()
        elif name == "cm":
            state.matrix = _times(tuple(numbers), state.matrix)  # type: ignore[arg-type]
        elif name == "m":
            subpaths.append([_mm(state.matrix, *numbers)])
        elif name == "l":
            subpaths[-1].append(_mm(state.matrix, *numbers))
        elif name == "c":
            controls += [_mm(state.matrix, *numbers[0:2]), _mm(state.matrix, *numbers[2:4])]
            subpaths[-1].append(_mm(state.matrix, *numbers[4:6]))
        elif name == "re":
            x, y, w, h = numbers
            subpaths.append([_mm(state.matrix, *p) for p in ((x, y), (x + w, y), (x + w, y + h), (x, y + h))])
        elif name == "h":
            subpaths[-1].append(subpaths[-1][0])
        elif name == "W":
            clipping = True
        elif name in ("n", "S", "f", "f*"):
            if clipping:
                (left, bottom), (right, top) = subpaths[0][0], subpaths[0][2]
                state.window = (left, bottom, right, top)
                clipping = False
            elif name != "n":
                grey = state.stroke if name == "S" else state.fill
                scale = abs(complex(state.matrix[0], state.matrix[1])) * MM
                found.paths.append(
                    PaintedPath(
                        subpaths, controls, state.width * scale, state.dash, state.phase, grey, name, state.window
                    )
                )
            subpaths, controls = [], []
        elif name == "w":
            state.width = numbers[0]
        elif name == "d":
            state.dash, state.phase = tuple(float(n) for n in operands[0]), float(operands[1])
        elif name == "G":
            state.stroke = numbers[0]
        elif name == "g":
            state.fill = numbers[0]
        elif name == "BT":
            text = (1, 0, 0, 1, 0, 0)
        elif name == "Tm":
            text = _times(tuple(numbers), state.matrix)  # type: ignore[arg-type]
        elif name == "Tj":
            found.text_starts.append(_mm(text, 0.0, 0.0))
        elif name not in ("ET", "Tf"):
            raise ValueError(f"The reader does not know the operator {name}.")
    return found


class Nearby:
    """Points by the square of 0.1 mm that they lie in, to ask for the nearest one quickly."""

    def __init__(self, points: Iterable[Point]) -> None:
        self._cells: dict[tuple[int, int], list[Point]] = {}
        for point in points:
            self._cells.setdefault(self._cell(point), []).append(point)

    @staticmethod
    def _cell(point: Point) -> tuple[int, int]:
        return (math.floor(point[0] * 10), math.floor(point[1] * 10))

    def distance(self, point: Point) -> float:
        """The distance to the nearest point in mm; infinite where it is more than about 0.1."""
        column, row = self._cell(point)
        around = [(column + i, row + j) for i in (-1, 0, 1) for j in (-1, 0, 1)]
        return min((math.dist(p, point) for cell in around for p in self._cells.get(cell, ())), default=math.inf)
