"""Check that rails keep enough base to be fastened by."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.phrase import Size, phrase
from turnout_templates.trackwork.bars import SLIDING
from turnout_templates.trackwork.base_cuts import BaseCut
from turnout_templates.trackwork.bearing import BARE_SPACES, most_bare
from turnout_templates.trackwork.materials import longest_bare
from turnout_templates.trackwork.model import Trackwork


def check_bases_left(work: Trackwork) -> Iterator[Finding]:
    """Report rails that lose their base on both sides for longer than a rail may lie bare of ties."""
    limit = most_bare(work.spec.ties)
    cuts: dict[str, list[BaseCut]] = {}
    for cut in work.base_cuts:
        cuts.setdefault(cut.part, []).append(cut)
    for bar in (bar for bar in work.bars if bar.role not in SLIDING):
        bare = longest_bare(cuts.get(bar.id, ()))
        if bare is not None and bare[2] - bare[1] > limit:
            cut, low, high = bare
            path = work.layout.route(cut.beside.route).path
            yield Finding(
                "base-gone",
                "warning",
                bar.id,
                path.point_at((low + high) / 2, cut.beside.face.offset),
                phrase("its base must be filed off on both sides for ", Size(high - low)),
                phrase(Size(limit), f", {BARE_SPACES} tie spaces, at the most: there is no base to fasten it by"),
                "common practice, no source",
                phrase("Take rail with a narrower base, or solder its web to copper-clad ties there."),
            )
