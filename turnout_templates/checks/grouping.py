"""Turn findings into the groups that people read: what one rule says of one place is one numbered entry."""

from __future__ import annotations

from msgspec import Struct

from turnout_templates.checks.finding import Finding
from turnout_templates.geometry.pose import Point
from turnout_templates.units import Unit


class FindingGroup(Struct, frozen=True):
    """Findings of one rule at one place, alike in level, limit, source and remedy; at least one."""

    findings: tuple[Finding, ...]

    @property
    def first(self) -> Finding:
        """The finding that came first: it speaks for all in level, place, limit, source and remedy."""
        return self.findings[0]

    @property
    def at(self) -> Point:
        """The place on the drawing."""
        return self.first.at

    def sentence(self, unit: Unit) -> str:
        """Return the group as people read it: the place once, then what was measured of each, then the limit once.

        Lengths are in `unit` first.
        """
        if len(self.findings) == 1:
            return self.first.sentence(unit)
        first = self.first
        place, comma, _ = first.where.partition(", ")
        start = place + comma
        if not comma or not all(finding.where.startswith(start) for finding in self.findings):
            start = ""
        cases = "; ".join(
            f"{finding.where.removeprefix(start)}: {finding.measured.in_units(unit)}" for finding in self.findings
        )
        return f"{start and place + ': '}{cases}; {first.limit.in_units(unit)}. {first.remedy.in_units(unit)}"


def group_findings(findings: tuple[Finding, ...]) -> tuple[FindingGroup, ...]:
    """Return `findings` in groups, in the order in which each group begins; its index from 1 is the group's number."""
    groups: dict[tuple[object, ...], list[Finding]] = {}
    for finding in findings:
        key = (finding.rule, finding.level, finding.at, finding.limit, finding.source, finding.remedy)
        groups.setdefault(key, []).append(finding)
    return tuple(FindingGroup(tuple(group)) for group in groups.values())
