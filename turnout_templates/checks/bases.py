"""Check that rails keep enough base to be fastened by."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.phrase import Size, phrase
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.trackwork.bases.base_cuts import cuts_by_part
from turnout_templates.trackwork.bases.materials import longest_bare
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.sliding import tie_outlines
from turnout_templates.trackwork.rails.rail_parts import Interval, RouteFace
from turnout_templates.trackwork.ties.tie_parts import Tie


def check_bases_left(work: Trackwork) -> Iterator[Finding]:
    """Report rails of which no base is left, on either side, over the whole of a tie that they are fastened to."""
    cuts = cuts_by_part(work.base_cuts)
    bare = [(bar.id, found) for bar in work.bars if (found := longest_bare(cuts.get(bar.id, ()))) is not None]
    tree = shapely.STRtree(tie_outlines(work.ties)) if bare else None
    for name, (cut, low, high) in bare:
        lying = [] if tree is None else _ties_over(work, tree, cut.beside, (low, high))
        ties = [tie for tie in lying if name not in tie.loose]
        if ties:
            path = work.layout.route(cut.beside.route).path
            yield Finding(
                "base-gone",
                "warning",
                f"{name} on {'ties' if len(ties) > 1 else 'tie'} {' and '.join(tie.id for tie in ties)}",
                path.point_at((low + high) / 2, cut.beside.face.offset),
                phrase("its base must be filed off on both sides for ", Size(high - low), ", all across the tie"),
                phrase("a rail needs some base on each tie to be fastened by"),
                "geometry of this trackwork",
                phrase("Take rail with a narrower base, or solder its web to copper-clad ties there."),
            )


def _ties_over(work: Trackwork, tree: shapely.STRtree, owner: RouteFace, bare: Interval) -> list[Tie]:
    """Return the ties that a stretch of gauge face lies across, from edge to edge, in the order of the ties."""
    path = work.layout.route(owner.route).path
    line = shapely.LineString(flatten(Parallel(path, owner.face.offset, *bare)))
    found = []
    for index in sorted(tree.query(line, predicate="crosses").tolist()):
        outline = tree.geometries[index]
        if not any(outline.covers(shapely.Point(end)) for end in (line.coords[0], line.coords[-1])):
            found.append(work.ties[index])
    return found
