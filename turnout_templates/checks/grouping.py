"""Turn findings into the groups that people read, each a numbered entry: of one place, or of several the same."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.checks.finding import Finding
from turnout_templates.geometry.pose import Point
from turnout_templates.units import Unit


class FindingGroup(Struct, frozen=True):
    """Findings of one rule, alike in level, limit, source and remedy, at one place or alike in what was measured too.

    There is at least one.
    """

    findings: tuple[Finding, ...]

    @property
    def first(self) -> Finding:
        """The finding that came first: it speaks for all in level, limit, source and remedy."""
        return self.findings[0]

    @property
    def places(self) -> tuple[Point, ...]:
        """The places on the drawing: one, or that of each."""
        return tuple(dict.fromkeys(finding.at for finding in self.findings))

    def sentence(self, unit: Unit) -> str:
        """Return the group as people read it: one place and what was measured of each, or all places and that.

        Lengths are in `unit` first.
        """
        if len(self.findings) == 1:
            return self.first.sentence(unit)
        first = self.first
        if len(self.places) > 1:
            return replace(first, where="; ".join(finding.where for finding in self.findings)).sentence(unit)
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
    alike: dict[object, list[Finding]] = {}
    for place, found in groups.items():
        alike.setdefault(place if len(found) > 1 else _said(found[0]), []).extend(found)
    return tuple(FindingGroup(tuple(group)) for group in alike.values())


def _said(finding: Finding) -> tuple[str, ...]:
    """Return all that a finding says but where: in inches with mm, so that what is alike in it is alike in mm."""
    told = (said.in_units("in") for said in (finding.measured, finding.limit, finding.remedy))
    return (finding.rule, finding.level, *told, finding.source)
