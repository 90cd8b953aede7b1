"""Check that a closed point touches nothing that is fed otherwise: without a gap it is of the section of its frog."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.phrase import phrase
from turnout_templates.spec.model import Hand
from turnout_templates.trackwork.current.conducting import ClosedPoint, closed_points, sections_of
from turnout_templates.trackwork.current.feeding import frog_feeds
from turnout_templates.trackwork.model import Trackwork

_SOURCE = "geometry of this trackwork"
Feeds = Mapping[str, Mapping[str, Hand | None]]


def check_closed_points(work: Trackwork) -> Iterator[Finding]:
    """Report points that close against a rail of another section: always, or while another route is set over a frog."""
    section_of = sections_of(work)
    feeds: Feeds | None = None
    for closed in closed_points(work):
        sections = (section_of[closed.point], section_of[closed.stock])
        if sections[0] != sections[1]:
            feeds = feeds if feeds is not None else {feed.section: dict(feed.routes) for feed in frog_feeds(work)}
            yield from _found(work, closed, sections, feeds)


def _found(work: Trackwork, closed: ClosedPoint, sections: tuple[str, str], feeds: Feeds) -> Iterator[Finding]:
    switch = work.switch(closed.switch)
    routes = dict.fromkeys(route for section in sections for route in feeds.get(section, {}))
    unlike = [route for route in routes if not _alike(feeds, sections, route)]
    short = closed.route in unlike or closed.route not in routes
    others = [route for route in unlike if route not in (switch.parent, *switch.onward)]
    if not short and not others:
        return
    listed = " or ".join(f'"{route}"' for route in others)
    yield Finding(
        "sections-joined",
        "error" if short else "warning",
        f"{closed.point} and {closed.stock}",
        switch.filed_tip.point,
        phrase(
            f"the closed point at {closed.switch} joins {closed.point} (section {sections[0]}) and {closed.stock} "
            f"(section {sections[1]})"
        ),
        phrase("rails that touch must be of one section" if short else f"where {listed} is set they are fed unlike"),
        _SOURCE,
        phrase(
            "It is a short circuit for some route: cut a gap between them, or space ties or frogs apart."
            if short
            else f'Set {closed.switch} away from "{closed.route}" before {listed} is set over that frog: else it is a '
            "short circuit."
        ),
    )


def _alike(feeds: Feeds, sections: tuple[str, str], route: str) -> bool:
    """Tell whether two sections are fed alike where a route is set; left and right are as they are called."""
    one, two = (feeds[name].get(route) if name in feeds else name for name in sections)
    return one is not None and one == two
