"""Turn trackwork whose rails are cut into its wiring: sections, gaps in copper, feeders."""

from __future__ import annotations

from turnout_templates.trackwork.current.copper import gap_copper
from turnout_templates.trackwork.current.feeders import place_feeders
from turnout_templates.trackwork.current.lying import Bases
from turnout_templates.trackwork.current.sections import find_sections
from turnout_templates.trackwork.current.wiring_parts import Wiring
from turnout_templates.trackwork.model import Trackwork


def wire(work: Trackwork) -> Wiring:
    """Return all that carries current in `work`."""
    sections, bonded = find_sections(work)
    section_of = {part: section.id for section in sections for part in section.parts}
    bases = Bases(work)
    by_tie, by_part = bases.on_ties()
    copper = gap_copper(work, by_tie, section_of)
    feeders, unfed = place_feeders(work, bases, by_part, sections, copper)
    return Wiring(sections, copper, feeders, bonded, unfed)
