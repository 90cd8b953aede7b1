"""What is said of copper that no gap finds room on is true to its figures."""

from __future__ import annotations

from turnout_templates.checks.finding import Finding
from turnout_templates.pipeline import work_out
from turnout_templates.spec.load import read_spec

STEEP = """
spec: 1
name: rails askew on the ties between two crossings
scale: N
units: mm
gauges: {wide: N, narrow: Nn3}
rail: code 55
diamond: {frog_angle: 61.6 deg, hand: right, common_rail: right}
"""


def test_bases_that_leave_room_enough_are_said_to_lie_askew() -> None:
    job = work_out(read_spec(STEEP, file="steep.yaml", folder=None))
    found = [one for one in job.findings if one.rule == "copper-gap"]
    tight = {pair.parts for tie in job.trackwork.wiring.copper for pair in tie.crowded if pair.room < pair.need}
    askew = {pair.parts for tie in job.trackwork.wiring.copper for pair in tie.crowded} - tight
    assert askew
    said = [one for one in found if "askew" in str(one.measured)]
    assert said and all(_parts(one) in askew for one in said)
    for one in found:
        assert one in said or one.measured.sizes[0] < one.limit.sizes[0]


def _parts(finding: Finding) -> tuple[str, str]:
    first, _, second = str(finding.measured).removeprefix("the bases of ").split(",")[0].partition(" and ")
    return first, second
