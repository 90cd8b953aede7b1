"""What the two specs of the design, and one with every key, come to."""

# ruff: noqa: E501  (tables read best with one case a line)

import json
import math
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from spec.texts import EVERY_KEY, PLAIN, TWO_GAUGES

from turnout_templates.errors import InputProblems, LayoutError
from turnout_templates.geometry.pose import Pose
from turnout_templates.spec import LocatedSpec, expanded_yaml, load_spec, read_spec
from turnout_templates.spec.model import (
    Curve,
    Easement,
    EntryPoints,
    FixedPoints,
    Points,
    Straight,
    StraightPoints,
    StubPoints,
    TangentPoints,
    ToFrog,
    Widening,
)

INCH = 25.4


def read(text: str) -> LocatedSpec:
    return read_spec(text, file="a.yaml", folder=None)


def test_two_gauges() -> None:
    spec = read(TWO_GAUGES).spec
    assert (spec.name, spec.revision, spec.units) == ("Tamsin Quarry, east switch", "1", "mm")
    assert spec.scale.ratio == 87.1
    assert spec.gauges["standard"].width == pytest.approx(0.649 * INCH, abs=1e-12)
    assert spec.gauges["narrow"].width == pytest.approx(0.413 * INCH, abs=1e-12)
    # S-3.2 (2010): G nominal .649 less C target .607 in
    assert spec.gauges["standard"].guard_flangeway == pytest.approx(0.042 * INCH, abs=1e-12)
    assert (spec.rail.name, spec.rail.head) == ("code 70", 0.035 * INCH)
    main, quarry = spec.routes
    assert main.gauges == ("standard", "narrow") and main.common_rail == "left" and main.start == Pose(0, 0, 0)
    assert main.path == (Straight(90.0), Curve(420.0, 1 / (30 * INCH)))
    assert (quarry.leaves, quarry.at, quarry.hand, quarry.start) == ("main", 100.0, "right", None)
    assert quarry.gauges == ("standard",) and quarry.common_rail == "left" and quarry.points == TangentPoints()
    assert quarry.path == (Straight(18 * INCH),)
    assert spec.tip == 0.1 and spec.throw is None
    assert spec.frog_point == pytest.approx(0.5 * INCH / 87.1, abs=1e-12)
    assert spec.text == TWO_GAUGES


def test_every_key() -> None:
    spec = read(EVERY_KEY).spec
    assert (spec.name, spec.revision, spec.units) == ("Brindle Fen: everything", "1.10", "in")
    assert spec.notes == "First line: all keys.\nSecond line.\n"
    slate = spec.gauges["slate"]
    assert (slate.width, slate.flangeway, slate.span, slate.check_gauge) == (
        6.35,
        0.75,
        5.25,
        pytest.approx(5.9 * 6.35 / 6.5),
    )
    assert slate.source.startswith("flangeway, span given in the spec, the rest common practice, no source")
    assert spec.gauges["standard"].width == 9.0  # MOROP's N, for a MOROP standard
    assert (spec.rail.height, spec.rail.head) == (0.055 * INCH, 0.7)
    assert (spec.ties.width, spec.ties.copper, spec.tip, spec.throw) == (INCH / 16, "every second", 0.004 * INCH, 1.5)
    main, quarry, tramroad, siding = spec.routes  # the parent moved ahead of its branch
    assert [route.name for route in spec.routes] == ["main", "quarry", "tramroad", "siding"]
    assert main.start == Pose(INCH, -2 * INCH, math.radians(12)) and main.gauges == ("standard", "slate")
    assert main.path[1] == Easement(4 * INCH, 0.0, 1 / (20 * INCH))
    assert quarry.common_rail == "right" and quarry.at == 2.5 * INCH
    assert quarry.points == StraightPoints(25.4, 1.524, 0.254)
    assert quarry.path[0] == ToFrog(angle=math.atan(1 / 5), curvature=None, number=None, toe=3.0, lead=88.9)
    assert tramroad.bend_curvature == pytest.approx(-1 / (40 * INCH), rel=1e-15) and main.bend_curvature is None
    assert tramroad.widening == Widening(((45 * INCH, 0.2, 2 * INCH),), "given in the spec") and main.widening is None
    bend = quarry.path[1]
    assert isinstance(bend, Curve) and bend.curvature == -1 / 304.8
    assert bend.length == pytest.approx(12 * INCH * math.radians(5 + 43 / 60 + 29 / 3600), abs=1e-12)
    assert siding.at is None and siding.points == EntryPoints(math.radians(1)) and siding.gauges == main.gauges


@pytest.mark.parametrize(
    ("piece", "expected"),
    [
        ("frog: 6", ToFrog(2 * math.atan(1 / 12), None, 6.0, None)),
        ("curve: {frog: 6}", ToFrog(2 * math.atan(1 / 12), None, 6.0, None)),
        ("{frog: 6, through: curved}", ToFrog(2 * math.atan(1 / 12), None, 6.0, 0.0)),
        ("curve: {frog: 6, through: {straight: 5 mm}}", ToFrog(2 * math.atan(1 / 12), None, 6.0, 5.0)),
        ("frog_angle: 9 deg", ToFrog(math.radians(9), None, None, None)),
        ("frog_ratio: 1:9", ToFrog(math.atan(1 / 9), None, None, None)),
        ("curve: {radius: 24 in, turn: right, to: frog}", ToFrog(None, -1 / 609.6, None, None)),
        ("{frog: 6, lead: 9 1/2 in}", ToFrog(2 * math.atan(1 / 12), None, 6.0, None, 241.3)),
        ("curve: {frog_ratio: 1:9, lead: 30 cm}", ToFrog(math.atan(1 / 9), None, None, None, 300.0)),
        ("curve: {radius: 600 mm, turn: left, to: frog, through: curved}", ToFrog(None, 1 / 600, None, 0.0)),
    ],
)
def test_the_forms_of_a_frog(piece: str, expected: ToFrog) -> None:
    (found,) = read(TWO_GAUGES.replace("straight: 18 in", piece)).spec.routes[1].path
    assert found == expected


def test_no_9_and_1_in_9_differ() -> None:
    """No. 9 is 6.3597 degrees, 1:9 is 6.3402 (design; the second read in a German article on turnouts)."""
    for piece, degrees in (("frog: 9", 6.35966), ("frog_ratio: 1:9", 6.34019)):
        (found,) = read(TWO_GAUGES.replace("straight: 18 in", piece)).spec.routes[1].path
        assert isinstance(found, ToFrog) and found.angle is not None
        assert math.degrees(found.angle) == pytest.approx(degrees, abs=5e-6)


@pytest.mark.parametrize(
    ("head", "ratio", "gauge", "width", "source"),
    [
        ("scale: HO", 87.1, "standard", 16.4846, "NMRA S-3.2 (2010), row HO"),
        ("scale: H0", 87.0, "standard", 16.5, "MOROP NEM 310 Beiblatt 4 (2002), row 16.5 mm"),
        ("scale: 0", 45.0, "standard", 32.0, "common practice, no source"),
        ("scale: N", 160.0, "standard", 9.0, "MOROP NEM 110 (2009), row 9 mm"),
        ("scale: N\ntrack_standard: NMRA RP-3", 160.0, "standard", 8.9662, "NMRA RP-3, row N Fine"),
        ("scale: HOn3", 87.1, "standard", 10.4902, "NMRA S-3.2 (2010), row Sn2"),
        ("scale: 1:87.1", 87.1, "standard", 1435.1 / 87.1, "NMRA S-3.2 (2010), row HO"),
        ("scale: 1:1", 1.0, "standard", 1435.1, "prototype, row 56.5 in (from memory)"),
        ("scale: HO\ngauges: {narrow: 3 ft scale}", 87.1, "narrow", 914.4 / 87.1, "NMRA S-3.2 (2010), row Sn2"),
        (
            "scale: HO\ngauges: {x: 16 mm}\ntrack_standard: {x: {flangeway: 1 mm, check_gauge: 15 mm, span: 14 mm, point_spread: 14.5 mm}}",
            87.1,
            "x",
            16.0,
            "given in the spec",
        ),
    ],
)
def test_scales_and_their_gauges(head: str, ratio: float, gauge: str, width: float, source: str) -> None:
    spec = read(PLAIN.replace("scale: HO", head)).spec
    assert spec.scale.ratio == ratio
    assert spec.gauges[gauge].width == pytest.approx(width, abs=1e-9)
    assert spec.gauges[gauge].source.startswith(source)


@pytest.mark.parametrize(("text", "units"), [(PLAIN, "in"), (PLAIN.replace("frog: 6", "radius: 600 mm"), "mm")])
def test_units_unsaid_are_those_of_the_spec(text: str, units: str) -> None:
    assert read(text).spec.units == units


def test_yaml_guesses_nothing() -> None:
    spec = read(PLAIN.replace("Plain No. 6", "no").replace("spec: 1", "spec: 1\nrevision: 1e3\nnotes: 0x10")).spec
    assert (spec.name, spec.revision, spec.notes) == ("no", "1e3", "0x10")


def test_the_shorthand_is_long_enough() -> None:
    """HO No. 6 by the closed form of the design: k = 2.5 x 0.889 / (2 sin(F/2)), R + g/2 = (g - k sin F)/(1 - cos F)."""
    spec = read(PLAIN + "units: mm\n").spec
    main, branch = spec.routes
    assert branch.at is not None and branch.at >= 5 * spec.ties.spacing and branch.at % 10 == 0
    frog, gauge = 2 * math.atan(1 / 12), 16.4846
    toe = 2.5 * 0.889 / (2 * math.sin(frog / 2))
    lead = (gauge - toe * math.sin(frog)) / (1 - math.cos(frog)) * math.sin(frog) + toe * math.cos(frog)
    (straight,) = main.path
    assert isinstance(straight, Straight)
    left = straight.length - branch.at - lead - 1.6 * toe - 5 * spec.ties.spacing
    assert 0 <= left < 10
    heel = branch.path[1]
    assert isinstance(heel, Straight)
    end = branch.at + lead - gauge / 2 * math.sin(frog) + heel.length * math.cos(frog)
    assert abs(end - straight.length) <= 5.0 + 1e-9


@pytest.mark.parametrize("text", [TWO_GAUGES, PLAIN, EVERY_KEY])
def test_the_expansion_means_the_same(text: str) -> None:
    located = read(text)
    expanded = expanded_yaml(located)
    again = read(expanded)
    assert "turnout:" not in expanded
    assert again.spec.fingerprint == located.spec.fingerprint
    assert again.spec.routes == located.spec.routes and again.spec.units == located.spec.units
    assert expanded_yaml(again) == expanded


@given(st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=30), st.text(max_size=60))
@example("no", "~")
@example('a: "b" # c', "\\ \u2028 \x85 \x07 \t\n\n x ")
@example("null", "- a\n- b")
@example("a\ufffeb", "\ufeff a \u2028 b")
def test_any_name_and_notes_come_through_the_expansion(name: str, notes: str) -> None:
    """JSON strings are YAML strings, so json writes the spec here."""
    text = PLAIN.replace("Plain No. 6", json.dumps(name)) + f"notes: {json.dumps(notes)}\n"
    try:
        located = read(text)
    except InputProblems:
        return  # a blank name, more than one line of it, or a control character
    again = read(expanded_yaml(located)).spec
    assert (again.name, again.notes) == (located.spec.name, located.spec.notes)
    assert (located.spec.name, located.spec.notes) == (name.strip(), notes)


def test_the_expansion_of_the_shorthand_is_what_a_person_would_write() -> None:
    assert expanded_yaml(read(PLAIN + "units: mm\n")) == (
        "spec: 1\n"
        "name: Plain No. 6\n"
        "units: mm\n"
        "scale: HO\n"
        "routes:\n"
        "  main:\n"
        "    path:\n"
        "      - straight: 270 mm\n"
        "  branch:\n"
        "    leaves: main\n"
        "    at: 30 mm\n"
        "    hand: left\n"
        "    path:\n"
        "      - frog: 6\n"
        "      - straight: 60 mm\n"
    )


def test_a_shorthand_on_a_curve_with_points_and_through() -> None:
    turnout = "{hand: right, radius: 18 in, through: curved, points: {entry: 1 deg}, main: {radius: 40 in, turn: left}}"
    spec = read(PLAIN.replace("{hand: left, frog: 6}", turnout)).spec
    main, branch = spec.routes
    (curve,) = main.path
    assert isinstance(curve, Curve) and curve.curvature == 1 / (40 * INCH)
    assert curve.length / (INCH / 2) == pytest.approx(round(curve.length / (INCH / 2)), abs=1e-9)
    assert branch.path[0] == ToFrog(None, -1 / (18 * INCH), None, 0.0)
    assert branch.points == EntryPoints(math.radians(1))


def test_a_shorthand_with_a_lead_that_is_bent() -> None:
    turnout = "{hand: left, frog: 6, lead: 250 mm, bend: {radius: 900 mm, turn: right}}"
    assert expanded_yaml(read(PLAIN.replace("{hand: left, frog: 6}", turnout))) == (
        "spec: 1\n"
        "name: Plain No. 6\n"
        "units: mm\n"
        "scale: HO\n"
        "routes:\n"
        "  main:\n"
        "    bend: {radius: 900 mm, turn: right}\n"
        "    path:\n"
        "      - straight: 340 mm\n"
        "  branch:\n"
        "    leaves: main\n"
        "    at: 30 mm\n"
        "    hand: left\n"
        "    path:\n"
        "      - {frog: 6, lead: 250 mm}\n"
        "      - straight: 60 mm\n"
    )


@pytest.mark.parametrize(
    "turnout",
    [
        "{hand: left, frog: 8, lead: 250 mm}",
        "{hand: right, frog_ratio: 1:9, lead: 280 mm, through: curved, points: {entry: 1 deg}}",
        "{hand: left, frog: 6, bend: {radius: 900 mm, turn: right}, points: {length: 60 mm, spread: 2 mm, tip: 0 mm}}",
        "{hand: left, radius: 600 mm, bend: {radius: 900 mm, turn: left}}",
    ],
)
def test_leads_and_bends_come_through_the_expansion(turnout: str) -> None:
    located = read(PLAIN.replace("{hand: left, frog: 6}", turnout))
    again = read(expanded_yaml(located)).spec
    assert again.routes == located.spec.routes
    assert again.fingerprint == located.spec.fingerprint
    assert any(route.bend_curvature or any(getattr(p, "lead", None) for p in route.path) for route in again.routes)


@pytest.mark.parametrize(
    ("text", "path", "place"),
    [
        (PLAIN, ("routes", "branch", "path", 0, "frog"), "(a.yaml:4:29, turnout > frog)"),
        (PLAIN, ("routes", "branch", "at"), "(a.yaml:4:10, turnout)"),
        (PLAIN.replace("frog: 6", "frog: 6, lead: 9 in"), ("routes", "branch", "path", 0, "lead"), "(a.yaml:4:38, turnout > lead)"),
        (PLAIN.replace("frog: 6", "frog: 6, bend: {radius: 9 in, turn: left}"), ("routes", "main", "bend", "radius"), "(a.yaml:4:47, turnout > bend > radius)"),
        (TWO_GAUGES.replace("straight: 18 in", "curve: {frog: 6, lead: 9 in}"), ("routes", "quarry", "path", 0, "lead"), "(a.yaml:20:32, routes > quarry > path > 1st piece > curve > lead)"),
        (PLAIN, ("routes", "branch", "hand"), "(a.yaml:4:17, turnout > hand)"),
        (TWO_GAUGES, ("routes", "quarry", "path", 0, "straight"), "(a.yaml:20:19, routes > quarry > path > 1st piece > straight)"),
        (TWO_GAUGES, ("routes", "main", "path", 1, "radius"), "(a.yaml:13:25, routes > main > path > 2nd piece > curve > radius)"),
        (PLAIN.replace("frog: 6", "frog_ratio: 1:6"), ("routes", "branch", "path", 0, "frog"), "(a.yaml:4:35, turnout > frog_ratio)"),
        (TWO_GAUGES, ("routes", "quarry", "points"), "(a.yaml:14:3, routes > quarry)"),
        (TWO_GAUGES, ("routes", "quarry", "at"), "(a.yaml:16:9, routes > quarry > at)"),
    ],
)  # fmt: skip
def test_a_layout_error_is_located(text: str, path: tuple[str | int, ...], place: str) -> None:
    problem = read(text).problem(LayoutError("It cannot.", "Do this.", path))
    assert str(problem) == f"It cannot. Do this. {place}"


def test_files_are_read_from_disk(tmp_path: Path) -> None:
    path = tmp_path / "plain.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + PLAIN.replace("\n", "\r\n").encode())
    assert load_spec(path).spec.name == "Plain No. 6"
    for name, content, phrase in (
        ("none.yaml", None, "There is no file"),
        ("latin.yaml", "name: Grüße".encode("latin-1"), "not a text file in UTF-8"),
        ("big.yaml", b"#" * 300_000, "too large"),
        ("nul.yaml", b"a: \0", "not a text file"),
    ):
        broken = tmp_path / name
        if content is not None:
            broken.write_bytes(content)
        with pytest.raises(InputProblems, match=phrase):
            load_spec(broken)
    with pytest.raises(InputProblems, match="is a folder, not a spec"):
        load_spec(tmp_path)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("fixed", FixedPoints()),
        ("{stub: 2.2 mm}", StubPoints(2.2)),
        ("{stub: 2.2 mm, length: 60 mm}", StubPoints(2.2, 60.0)),
        ("{hinge: 55 mm}", TangentPoints(55.0)),
        ("{entry: 1 deg, hinge: 55 mm}", EntryPoints(math.radians(1), 55.0)),
        ("{length: 40 mm, spread: 2 mm, tip: 0 mm, hinge: 55 mm}", StraightPoints(40.0, 2.0, 0.0, 55.0)),
    ],
)
def test_points_as_they_are_meant(written: str, meant: Points) -> None:
    text = TWO_GAUGES.replace("hand: right", f"hand: right\n    points: {written}")
    located = read(text)
    quarry = next(route for route in located.spec.routes if route.name == "quarry")
    assert quarry.points == meant
    again = read(expanded_yaml(located)).spec
    assert again.routes == located.spec.routes
    assert located.spec.fingerprint == again.fingerprint != read(TWO_GAUGES).spec.fingerprint


def test_a_shorthand_with_a_stub_has_room_for_its_lead() -> None:
    for written in ("{stub: 2.2 mm}", "{stub: 2.2 mm, length: 60 mm}"):
        text = PLAIN.replace("frog: 6}", f"frog: 6, points: {written}}}")
        spec = read(text).spec
        assert isinstance(spec.routes[1].points, StubPoints)
