"""The fingerprint: deaf to how a spec is written, awake to everything that changes the track."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from spec.texts import EVERY_KEY, PLAIN, TWO_GAUGES

from turnout_templates.spec import read_spec

LEAD = PLAIN.replace("frog: 6", "frog: 6, lead: 250 mm")
WIDER = TWO_GAUGES.replace("    gauges: [standard]\n", "    gauges: [standard]\n    widening: prototype\n")
BENT = PLAIN.replace("frog: 6", "frog: 6, bend: {radius: 900 mm, turn: left}")


def fingerprint(text: str) -> str:
    return read_spec(text, file="a.yaml", folder=None).spec.fingerprint


@pytest.mark.parametrize(
    ("text", "change"),
    [
        (TWO_GAUGES, ("spec: 1", "# a comment\nspec: 1")),
        (TWO_GAUGES, ("Tamsin Quarry, east switch", "Something else")),
        (TWO_GAUGES, ("spec: 1", "spec: 1\nrevision: C\nnotes: more")),
        (TWO_GAUGES, ("spec: 1", "spec: 1\nunits: in")),
        (TWO_GAUGES, ("420 mm", "42 cm")),
        (TWO_GAUGES, ("30 in", "2 1/2 ft")),
        (TWO_GAUGES, ("18 in", "457.2 mm")),
        (TWO_GAUGES, ("standard: HO,", "standard: 0.649 in,")),
        (TWO_GAUGES, ("[standard, narrow]", "[narrow, standard]")),
        (TWO_GAUGES, ("{standard: HO, narrow: HOn3}", "{narrow: HOn3, standard: HO}")),
        (TWO_GAUGES, ("track_standard: NMRA S-3.2 (2010)\n", "")),  # it is the scale's own
        (TWO_GAUGES, ("code 70", "{height: 0.07 in, head: 0.035 in, base: 0.07 in}")),
        (TWO_GAUGES, ("    gauges: [standard]\n", "    points: tangent\n    gauges: [standard]\n")),
        (TWO_GAUGES, ("    common_rail: left\n", "    common_rail: left\n    start: {x: 0 mm, heading: 0 deg}\n")),
        (EVERY_KEY, ("1:5", " 1:5.0 ")),
        (EVERY_KEY, ("2 1/2", "2.5")),
        (PLAIN, ("frog: 6", "frog: 6.0")),
        (PLAIN, ("frog: 6", "frog: '6'")),
        (LEAD, ("250 mm", "25 cm")),
        (BENT, ("900 mm", "0.9 m")),
        (WIDER, ("prototype", "MIL-HDBK-1005/6")),
        (EVERY_KEY, ("by: 0.2 mm", "by: 0.02 cm")),
    ],
)
def test_it_does_not_change_with(text: str, change: tuple[str, str]) -> None:
    assert change[0] in text
    assert fingerprint(text.replace(*change, 1)) == fingerprint(text)


@pytest.mark.parametrize(
    ("text", "change"),
    [
        (TWO_GAUGES, ("scale: HO", "scale: 1:87")),
        (TWO_GAUGES, ("HOn3", "10.49 mm")),
        (TWO_GAUGES, ("NMRA S-3.2 (2010)", "NMRA S-3.2 (older)")),
        (TWO_GAUGES, ("code 70", "code 83")),
        (TWO_GAUGES, ("common_rail: left", "common_rail: right")),
        (TWO_GAUGES, ("90 mm", "90.000001 mm")),
        (TWO_GAUGES, ("30 in", "30.000001 in")),
        (TWO_GAUGES, ("turn: left", "turn: right")),
        (TWO_GAUGES, ("at: 100 mm", "at: end")),
        (TWO_GAUGES, ("hand: right", "hand: left")),
        (TWO_GAUGES, ("gauges: [standard]", "gauges: [narrow]")),
        (TWO_GAUGES, ("  quarry:", "  spur:")),
        (TWO_GAUGES, ("spec: 1", "spec: 1\ntip: 0.2 mm")),
        (TWO_GAUGES, ("spec: 1", "spec: 1\nthrow: 2 mm")),
        (TWO_GAUGES, ("spec: 1", "spec: 1\nfrog_point: 0.2 mm")),
        (TWO_GAUGES, ("spec: 1", "spec: 1\nties: {copper: none}")),
        (TWO_GAUGES, ("spec: 1", "spec: 1\nties: {overhang: 7 mm}")),
        (TWO_GAUGES, ("hand: right", "hand: right\n    points: {entry: 1 deg}")),
        (TWO_GAUGES, ("hand: right", "hand: right\n    points: {hinge: 40 mm}")),
        (EVERY_KEY, ("tip: 0.01}", "tip: 0.01, hinge: 1.5}")),
        (EVERY_KEY, ("1:5", "1:5.000001")),
        (EVERY_KEY, ("3 mm}", "3.000001 mm}")),
        (EVERY_KEY, ("y: -2", "y: 2")),
        (EVERY_KEY, ("heading: 12 deg", "heading: 12.000001 deg")),
        (EVERY_KEY, ("spread: 0.06", "spread: 0.061")),
        (EVERY_KEY, ("flangeway: 0.75 mm", "flangeway: 0.76 mm")),
        (EVERY_KEY, ("from: straight", "from: {radius: 90, turn: left}")),
        (PLAIN, ("hand: left", "hand: right")),
        (PLAIN, ("frog: 6", "frog_ratio: 1:6")),
        (PLAIN, ("frog: 6", "frog: 6, through: curved")),
        (PLAIN, ("frog: 6", "frog: 6, lead: 9 1/2 in")),
        (PLAIN, ("frog: 6", "frog: 6, bend: {radius: 900 mm, turn: left}")),
        (LEAD, ("lead: 250 mm", "lead: 250.000001 mm")),
        (BENT, ("radius: 900 mm", "radius: 900.000001 mm")),
        (BENT, ("turn: left}", "turn: right}")),
        (WIDER, ("    widening: prototype\n", "")),
        (WIDER, ("prototype", "{from: prototype, taper: 90 mm}")),
        (EVERY_KEY, ("by: 0.2 mm", "by: 0.2000001 mm")),
        (EVERY_KEY, ("below: 45", "below: 45.000001")),
    ],
)
def test_it_changes_with(text: str, change: tuple[str, str]) -> None:
    assert change[0] in text
    assert fingerprint(text.replace(*change, 1)) != fingerprint(text)


def test_it_is_eight_plain_characters_and_stays_what_it_was() -> None:
    """Prints made earlier carry it: a change of this value is a change that users must be told of."""
    found = fingerprint(PLAIN)
    assert len(found) == 8 and set(found) <= set("abcdefghijklmnopqrstuvwxyz234567")
    assert found == FINGERPRINT_OF_PLAIN


FINGERPRINT_OF_PLAIN = "7ntldhwe"


def test_a_depth_counts_where_the_spec_states_it_and_not_where_a_standard_does() -> None:
    """The two tables give HO .025 and .028 in; all else that they give is stated here."""
    own = "flangeway: 1.2 mm, check_gauge: 15.4 mm, span: 14.2 mm, point_spread: 14.9 mm"
    head = "spec: 1\nname: x\nscale: HO\nunits: mm\nturnout: {hand: left, frog: 6}\ntrack_standard: "
    alone, newer, older, stated = (
        head + f"{{{before}standard: {{{own}{more}}}}}\n"
        for before, more in (
            ("", ""),
            ("from: NMRA S-3.2 (2010), ", ""),
            ("from: NMRA S-3.2 (older), ", ""),
            ("", ", flangeway_depth: 0.7 mm"),
        )
    )
    depths = [
        read_spec(text, file="a.yaml", folder=None).spec.gauges["standard"] for text in (alone, newer, older, stated)
    ]
    assert [gauge.depth for gauge in depths] == [None, pytest.approx(0.635), pytest.approx(0.7112), 0.7]
    assert depths[3].depth_source == "given in the spec" and depths[0].depth_source == ""
    assert fingerprint(alone) == fingerprint(newer) == fingerprint(older) != fingerprint(stated)


def test_the_order_of_keys_does_not_matter() -> None:
    lines = TWO_GAUGES.splitlines()
    head, routes = lines[:6], lines[6:]
    shuffler = random.Random(5)
    for _ in range(5):
        shuffler.shuffle(head)
        assert fingerprint("\n".join(head + routes)) == fingerprint(TWO_GAUGES)
    main, quarry = "\n".join(routes[1:7]), "\n".join(routes[7:])
    assert fingerprint("\n".join([*head, "routes:", quarry, main])) == fingerprint(TWO_GAUGES)


@given(st.integers(1, 10**7), st.integers(1, 10**7))
def test_two_lengths_have_one_fingerprint_only_when_they_are_one(first: int, second: int) -> None:
    """In steps of a ten-thousandth of a millimetre, far above the quantum."""

    def of(length: int) -> str:
        return fingerprint(TWO_GAUGES.replace("18 in", f"{length / 10000 + 1:.4f} mm"))

    assert (of(first) == of(second)) is (first == second)
