"""A throw bar over ties: what is advised depends on whether those ties carry another throw bar."""

import pytest
from msgspec.structs import replace

from turnout_templates.checks.points import check_bars_between_ties
from turnout_templates.pipeline import work_out
from turnout_templates.spec.load import read_spec
from turnout_templates.trackwork.model import Trackwork

SLIP = "spec: 1\nname: Slip\nscale: HO\nunits: mm\nslip: {frog: 3.5, hand: left}\n"
"""A slip so short that its second bars find no room between the next ties."""


def slip() -> Trackwork:
    return work_out(read_spec(SLIP, file="slip.yaml", folder=None)).trackwork


def test_headblocks_of_another_switch_are_not_to_be_cut() -> None:
    work = slip()
    found = list(check_bars_between_ties(work))
    assert found
    for finding in found:
        told = finding.remedy.in_units("mm")
        ids = [tie.id for tie in work.ties if f" {tie.id} " in f" {str(finding.measured).replace(',', ' ')} "]
        assert {tie.role for tie in work.ties if tie.id in ids} == {"headblock"}
        assert told.startswith(f"Do not cut {' and '.join(ids)}, headblocks of another switch")
        assert "Cut those" not in told


def test_other_ties_may_be_cut_off() -> None:
    work = slip()
    plain = replace(work, ties=tuple(replace(tie, role="switch") for tie in work.ties))
    found = list(check_bars_between_ties(plain))
    assert found and all(f.remedy.in_units("mm").startswith("Cut those ties off") for f in found)


def test_a_switch_knows_its_own_headblocks() -> None:
    """A bar moved on by half a tie space lies on the further one of the two."""
    text = "spec: 1\nname: Plain\nscale: HO\nunits: mm\nturnout: {hand: left, frog: 6}\n"
    work = work_out(read_spec(text, file="plain.yaml", folder=None)).trackwork
    assert list(check_bars_between_ties(work)) == []
    ((switch, made),) = work.works()
    assert made.bar is not None
    moved = replace(made.bar, pose=made.bar.pose.ahead(work.spec.ties.switch_spacing / 2))
    (finding,) = check_bars_between_ties(replace(work, switch_works=(replace(made, bar=moved),)))
    further = max((tie for tie in work.ties if tie.role == "headblock"), key=lambda tie: tie.station)
    assert finding.remedy.in_units("mm").startswith(f"Do not cut {further.id}, between which it is to lie")
    assert [(block.route, block.station) for block in switch.headblocks][1] == (further.route, further.station)


def test_where_a_route_ends_the_bar_lies_alongside_the_ties_of_the_one_that_goes_on() -> None:
    """Both branches curve from the end: ties that are square to the first lie askew to the line of the main."""
    text = """
spec: 1
name: Parting
scale: HO
units: mm
routes:
  main: {path: [straight: 150]}
  a: {leaves: main, at: end, path: [curve: {radius: 500, turn: left, length: 250}]}
  b: {leaves: main, at: end, path: [curve: {radius: 500, turn: right, length: 250}]}
"""
    work = work_out(read_spec(text, file="parting.yaml", folder=None)).trackwork
    assert list(check_bars_between_ties(work)) == []
    (made,) = work.switch_works
    assert made.bar is not None
    beyond = made.bar.station - 150
    assert made.bar.pose.heading == pytest.approx(beyond / 500, abs=1e-9)
