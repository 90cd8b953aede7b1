"""Name rails as the paper does: by the bar that lies at a place, and whose gauge face that is."""

from __future__ import annotations

from collections.abc import Iterable

from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.bases.base_joints import BarsByFace
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import RouteFace


class Names:
    """What the rails of some trackwork are called at the bench."""

    def __init__(self, work: Trackwork) -> None:
        self.layout = work.layout
        self._bars = BarsByFace(work.bars)
        faces = (RouteFace(route.name, face) for route in work.layout for face in route.faces)
        self._faces = {owner.label: owner for owner in faces}

    def rail(self, owner: RouteFace, station: float) -> str:
        """Return the name of the rail at a station of a face: "R4a (branch standard right)", the face alone if none."""
        bar = self._bars.at(owner, station)
        return owner.label if bar is None else f"{bar.id} ({owner.label})"

    def rail_at(self, owner: RouteFace, place: Point) -> str:
        """Return the name of the rail on a face that lies beside a place."""
        return self.rail(owner, nearest_station(self.layout.route(owner.route).path, place)[0])

    def met(self, obstacles: Iterable[str], place: Point) -> tuple[str, ...]:
        """Return what is in the way at a place, told in words with the face of a rail last, with the rail's name."""
        return tuple(self._met(words, place) for words in obstacles)

    def _met(self, words: str, place: Point) -> str:
        for before in ("the rail ", "the flangeway of ", "the side of "):
            owner = self._faces.get(words.removeprefix(before))
            if words.startswith(before) and owner is not None:
                return before.removeprefix("the rail ") + self.rail_at(owner, place)
        return words
