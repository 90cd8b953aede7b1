"""A throw bar over ties: what is advised depends on whether those ties carry another throw bar."""

from drafting.drawn import job
from msgspec.structs import replace

from turnout_templates.checks.points import check_bars_between_ties


def test_headblocks_of_another_switch_are_not_to_be_cut() -> None:
    work = job("24-double-slip").trackwork
    found = list(check_bars_between_ties(work))
    assert found
    for finding in found:
        told = finding.remedy.in_units("mm")
        ids = [tie.id for tie in work.ties if f" {tie.id} " in f" {str(finding.measured).replace(',', ' ')} "]
        assert {tie.role for tie in work.ties if tie.id in ids} == {"headblock"}
        assert told.startswith(f"Do not cut {' and '.join(ids)}, headblocks of another switch")
        assert "Cut those" not in told


def test_other_ties_may_be_cut_off() -> None:
    work = job("24-double-slip").trackwork
    plain = replace(work, ties=tuple(replace(tie, role="switch") for tie in work.ties))
    found = list(check_bars_between_ties(plain))
    assert found and all(f.remedy.in_units("mm").startswith("Cut those ties off") for f in found)
