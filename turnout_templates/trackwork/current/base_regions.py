"""Turn parts and ties into the regions of ties that lie under the bases of parts, as filed: exact, one at a time."""

from __future__ import annotations

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.trackwork.bases.base_cuts import cuts_by_part
from turnout_templates.trackwork.bases.base_parts import Part, parts_of_bars, parts_of_guides
from turnout_templates.trackwork.bases.materials import section_as_made
from turnout_templates.trackwork.frogs.frog_parts import Guard, Wing
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.courses import Section
from turnout_templates.trackwork.rails.rail_parts import FiledHead, RouteFace
from turnout_templates.trackwork.rails.regions import without
from turnout_templates.trackwork.ties.tie_parts import Tie


class BaseRegions:
    """Finds the region of a tie over which the base of a piece, wing or guard lies; each part is made when asked."""

    def __init__(self, work: Trackwork) -> None:
        self.work = work
        self.section = Section(work.spec.rail.head, work.spec.rail.base)
        self.bars = {bar.id: bar for bar in work.bars}
        self.bar_of = {piece.id: piece.bar for piece in work.pieces}
        self.guides: dict[str, Wing | Guard] = {wing.id: wing for wing in work.wings}
        self.guides |= {guard.id: guard for guard in work.guards}
        self.cuts = cuts_by_part(work.base_cuts)
        self.heads: dict[RouteFace, list[FiledHead]] = {}
        for head in work.heads:
            self.heads.setdefault(head.stretch.owner, []).append(head)
        self._parts: dict[str, tuple[BaseGeometry, ...]] = {}

    def over(self, tie: Tie, name: str) -> BaseGeometry:
        """Return the region; nothing where the part does not lie on the tie."""
        name = self.bar_of.get(name, name)
        if name not in self._parts:
            self._parts[name] = tuple(self._regions(self._part(name)))
        outline = Polygon(tie.corners())
        return shapely.union_all([region.intersection(outline) for region in self._parts[name]])

    def _part(self, name: str) -> Part:
        guide = self.guides.get(name)
        if guide is None:
            bar = self.bars[name]
            owners = dict.fromkeys(stretch.owner for stretch in bar.stretches)
            heads = [head for owner in owners for head in self.heads.get(owner, ())]
            return next(parts_of_bars(self.work.layout, self.section, [bar], heads))
        section = section_as_made(self.section, self.cuts.get(name, ()))
        wings = [guide] if isinstance(guide, Wing) else []
        guards = [guide] if isinstance(guide, Guard) else []
        return next(parts_of_guides(self.work.layout, section, wings, guards))

    def _regions(self, part: Part) -> list[BaseGeometry]:
        """Return the core of a part and what is left of its flanges."""
        regions = [part.core]
        for flange in part.flanges:
            course = flange.course
            gone = [
                (cut.low, cut.high)
                for cut in self.cuts.get(part.id, ())
                if cut.side == flange.side and cut.beside == course.owner
            ]
            regions += [flange.region(*left) for left in without((course.low, course.high), gone)]
        return regions
