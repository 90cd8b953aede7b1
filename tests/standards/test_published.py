"""A few rows of every document, typed again by hand, in the unit of the document."""

import math
from fractions import Fraction

import pytest
from ruamel.yaml import YAML

from turnout_templates.standards import practice, rail, scales, tables, track, widening

INCH = Fraction("25.4")


def clearances(standard: str, gauge: str, ratio: str = "87.1") -> track.Clearances:
    family = track.family_of(standard)
    return track.clearances_for(standard, gauge, scales.named_gauges(family)[gauge].width, Fraction(ratio))


@pytest.mark.parametrize(
    ("standard", "gauge", "flangeway", "check", "span", "spread"),
    [
        # NMRA S-3.2, February 2010, targets F, C, S (+.002), P
        ("NMRA S-3.2 (2010)", "HO", ".048", ".607", ".559", ".588"),
        ("NMRA S-3.2 (2010)", "O", ".077", "1.181", "1.104", "1.156"),
        ("NMRA S-3.2 (2010)", "S", ".048", ".841", ".793", ".822"),
        ("NMRA S-3.2 (2010)", "On3", ".051", ".707", ".656", ".685"),
        # NMRA S-3.2, older: F max, C min, S max, P max
        ("NMRA S-3.2 (older)", "HO", ".050", ".605", ".564", ".590"),
        ("NMRA S-3.2 (older)", "HOn2", ".033", ".246", ".219", ".235"),
        # NMRA S-3.1
        ("NMRA S-3.1", "Proto:48", ".039", "1.134", "1.099", "1.078"),
        # NMRA RP-3
        ("NMRA RP-3", "HO", ".040", ".613", ".580", ".600"),
        ("NMRA RP-3", "N", ".025", ".332", ".313", ".322"),
        ("NMRA RP-3", "TT", ".033", ".441", ".414", ".430"),
    ],
)
def test_nmra_rows(standard: str, gauge: str, flangeway: str, check: str, span: str, spread: str) -> None:
    row = clearances(standard, gauge)
    assert row.flangeway == Fraction(flangeway) * INCH
    assert row.check_gauge == Fraction(check) * INCH
    assert row.span == Fraction(span) * INCH
    assert row.point_spread == Fraction(spread) * INCH
    assert row.source.startswith(f"{standard}, row ")


@pytest.mark.parametrize(
    ("gauge", "flangeway", "check", "span", "spread", "source"),
    [
        # MOROP NEM 110 (2009): F max, C min, S max, E max
        ("N", ".9", "8.1", "7.3", "7.8", "MOROP NEM 110 (2009), row 9 mm"),
        ("TT", "1", "11", "10.1", "10.7", "MOROP NEM 110 (2009), row 12 mm"),
        ("Z", ".75", "5.9", "5.2", "5.6", "MOROP NEM 110 (2009), row 6.5 mm"),
        # NEM 310 Beiblatt 4 (2002): F 1.1 to 1.3, C min 15.2, S max 14.1; E = C - 0.3 derived
        ("H0", "1.3", "15.2", "14.1", "14.9", "MOROP NEM 310 Beiblatt 4 (2002), row 16.5 mm"),
    ],
)
def test_nem_rows(gauge: str, flangeway: str, check: str, span: str, spread: str, source: str) -> None:
    row = clearances("MOROP NEM 110 (2009)", gauge)
    figures = (row.flangeway, row.check_gauge, row.span, row.point_spread)
    assert figures == tuple(Fraction(size) for size in (flangeway, check, span, spread))
    assert row.source.startswith(source)


@pytest.mark.parametrize(
    ("standard", "gauge", "inches"),
    [
        ("NMRA S-3.2 (2010)", "HO", ".025"),
        ("NMRA S-3.2 (2010)", "HOn3", ".023"),  # that of Sn2, whose row it falls back to
        ("NMRA S-3.2 (2010)", "O", ".045"),
        ("NMRA S-3.2 (older)", "HO", ".028"),
        ("NMRA S-3.1", "Proto:48", ".026"),
        ("NMRA RP-3", "N", ".020"),
    ],
)
def test_the_depth_of_flangeways(standard: str, gauge: str, inches: str) -> None:
    """H min, typed again from the tables."""
    assert clearances(standard, gauge).depth == Fraction(inches) * INCH


@pytest.mark.parametrize(("gauge", "depth"), [("Z", "0.6"), ("N", "0.9"), ("TT", "1"), ("H0", "1.2")])
def test_the_depth_of_flangeways_of_the_nem(gauge: str, depth: str) -> None:
    assert clearances("MOROP NEM 110 (2009)", gauge).depth == Fraction(depth)


def test_a_depth_that_no_document_states_is_none() -> None:
    """The older S-3.2 was read without H for No. 1, and full-size practice has none."""
    assert track.clearances_for("NMRA S-3.2 (older)", "No.1", Fraction("1.766") * INCH, Fraction(32)).depth is None
    assert track.clearances_for("prototype", None, Fraction("56.5") * INCH, Fraction(1)).depth is None


@pytest.mark.parametrize(
    ("degrees", "feet"),
    [(6, 955), (10, 574), (12, 478), (16, 359)],  # MIL-HDBK-1005/6: degree to radius, rounded, chord definition
)
def test_the_degree_of_a_curve(degrees: float, feet: int) -> None:
    assert round(widening.radius_of_degree(degrees) / 304.8) == feet


def test_the_rule_of_gauge_widening() -> None:
    """MIL-HDBK-1005/6: above 12 degrees 1/8 in for each 2 degrees, to 4 ft 9 in at most: 1/2 in above 18 degrees."""
    (name,) = widening.widening_rule_names()
    assert name == widening.widening_rule_named("prototype") == widening.widening_rule_named(" mil-hdbk-1005/6 ")
    for ratio in ("1", "87.1", "160"):
        rule = widening.widening_rule(name, Fraction(ratio))
        assert ("divided by the scale" in rule.source) is (ratio != "1")
        assert len(rule.steps) == 4
        for (radius, by), degrees, eighths in zip(rule.steps, (12, 14, 16, 18), (1, 2, 3, 4), strict=True):
            full = 50 * 12 * 25.4 / math.sin(math.radians(degrees / 2))
            assert radius == pytest.approx(full / float(ratio), rel=1e-12)
            assert by == pytest.approx(eighths * 25.4 / 8 / float(ratio), rel=1e-12)


@pytest.mark.parametrize(
    ("width", "ratio", "speaks"),
    [
        (16.4846, "87.1", True),  # HO
        (31.75, "48", True),  # O, which comes to 5 ft
        (9, "160", True),
        (10.4902, "87.1", False),  # HOn3
        (16.5, "48", False),  # On30
        (1435, "1", True),
    ],
)
def test_whose_gauge_the_rule_is_for(width: float, ratio: str, speaks: bool) -> None:
    assert widening.is_gauge_of_rule("MIL-HDBK-1005/6", width, Fraction(ratio)) is speaks


@pytest.mark.parametrize(
    ("standard", "gauge", "most"),
    [
        ("NMRA S-3.2 (2010)", "HO", (".651", ".010")),
        ("NMRA S-3.2 (2010)", "O", ("1.252", ".012")),
        ("NMRA S-3.2 (older)", "HO", (".672", "0")),
        ("NMRA S-3.1", "Proto:48", ("1.203", "0")),
    ],
)
def test_the_widest_gauge(standard: str, gauge: str, most: tuple[str, str]) -> None:
    assert clearances(standard, gauge).gauge_max == sum(map(Fraction, most)) * INCH


@pytest.mark.parametrize(("gauge", "most"), [("Z", "6.7"), ("N", "9.2"), ("TT", "12.2"), ("H0", "16.8")])
def test_the_widest_gauge_of_the_nem(gauge: str, most: str) -> None:
    assert clearances("MOROP NEM 110 (2009)", gauge).gauge_max == Fraction(most)


@pytest.mark.parametrize("standard", track.track_standard_names())
def test_in_every_row_the_wheels_fit(standard: str) -> None:
    """Check gauge less flangeway is within the span; the guard's groove and the point's opening are there."""
    for row in track._rows(standard):
        figures = row.figures
        assert figures.check_gauge - figures.flangeway <= figures.span, row.name
        assert 0 < figures.span < figures.check_gauge < row.gauge, row.name
        assert 0 < figures.point_spread < row.gauge, row.name


@pytest.mark.parametrize(
    ("standard", "gauge", "source"),
    [
        ("NMRA S-3.2 (2010)", "HO", "NMRA S-3.2 (2010), row HO"),
        ("NMRA S-3.2 (2010)", "HOn3", "NMRA S-3.2 (2010), row Sn2: same gauge; the row for HOn3 was not read"),
        (
            "NMRA S-3.2 (2010)",
            "HOn30",
            "MOROP NEM 110 (2009), row 9 mm: same gauge; NMRA S-3.2 (2010) has no row for HOn30 that was read",
        ),
        (
            "NMRA S-3.2 (2010)",
            "HOn2",
            "NMRA S-3.2 (older), row HOn2: same gauge; NMRA S-3.2 (2010) has no row for HOn2 that was read",
        ),
        (
            "MOROP NEM 110 (2009)",
            "0",
            "common practice, no source: 0 is in no table that was read; in proportion from NMRA S-3.2 (2010), row O",
        ),
    ],
)
def test_a_fallback_says_so(standard: str, gauge: str, source: str) -> None:
    assert clearances(standard, gauge).source == source


def test_in_proportion_keeps_the_proportions() -> None:
    o, zero = clearances("NMRA S-3.2 (2010)", "O"), clearances("MOROP NEM 110 (2009)", "0")
    by = Fraction(32) / (Fraction("1.252") * INCH)  # the row's gauge is G target
    assert zero.flangeway == o.flangeway * by and zero.check_gauge == o.check_gauge * by


def test_a_width_of_the_owner_takes_the_row_of_its_gauge() -> None:
    row = track.clearances_for(track.NMRA_2010, None, Fraction("16.45"), Fraction(87))
    assert row.source == "NMRA S-3.2 (2010), row HO, taken by its gauge"
    far = track.clearances_for(track.NMRA_2010, None, Fraction("14.2"), Fraction(87))
    assert far.source.startswith("common practice, no source: 14.2 mm is in no table")


def test_full_size_practice() -> None:
    """From memory: flangeway 1 7/8 in, check gauge 4 ft 6 5/8 in, face gauge 4 ft 4 3/4 in, throw 4 3/4 in."""
    full = track.clearances_for("prototype", None, Fraction("56.5") * INCH, Fraction(1))
    assert full.flangeway == Fraction("1.875") * INCH
    assert full.check_gauge == Fraction("54.625") * INCH
    assert full.span == Fraction("52.75") * INCH
    assert "from memory" in full.source
    three_foot = track.clearances_for("prototype", None, 36 * INCH, Fraction(1))
    assert three_foot.check_gauge == (36 - Fraction("1.875")) * INCH


@pytest.mark.parametrize(
    ("family", "name", "mm"),
    [
        ("NMRA", "HO", "16.4846"),  # 0.649 in
        ("MOROP", "H0", "16.5"),
        ("NMRA", "N", "8.9662"),  # 0.353 in
        ("MOROP", "N", "9"),
        ("NMRA", "HOn3", "10.4902"),  # 0.413 in
        ("NMRA", "O", "31.75"),  # 1 1/4 in
        ("NMRA", "Nn3", "6.5024"),
        ("MOROP", "H0e", "9"),
        ("MOROP", "IIm", "45"),
    ],
)
def test_gauges(family: scales.Family, name: str, mm: str) -> None:
    assert scales.named_gauges(family)[name].width == Fraction(mm)


@pytest.mark.parametrize(
    ("name", "ratio"),
    [("HO", "87.1"), ("H0", "87"), ("0", "45"), ("O", "48"), ("N", "160"), ("OO", "76.2"), ("II", "22.5")],
)
def test_scales(name: str, ratio: str) -> None:
    assert scales.named_scales()[name].ratio == Fraction(ratio)


def test_both_bodies_give_a_shared_scale_one_ratio() -> None:
    ratios: dict[str, set[Fraction]] = {}
    for file in ("scales_nmra", "scales_nem"):
        for row in tables.read_table(file).rows:
            ratios.setdefault(row["name"], set()).add(row["ratio"])
    assert {name for name, found in ratios.items() if len(found) > 1} == set()


@pytest.mark.parametrize(
    ("name", "height", "head", "base"),
    [
        # NMRA RP-15.1, Table 1: A, C, B
        ("code 70", ".070", ".035", ".070"),
        ("code 100", ".100", ".045", ".090"),
        ("code 55", ".055", ".028", ".055"),
        # AREA 1939
        ("AREA 1939 110 lb", "6.25", "2.78125", "5.5"),
    ],
)
def test_rails(name: str, height: str, head: str, base: str) -> None:
    section = rail.rail_named(name, Fraction(1))
    assert section is not None
    assert (section.height, section.head, section.base) == tuple(Fraction(size) * INCH for size in (height, head, base))


def test_a_full_size_rail_is_divided_by_the_scale_and_a_code_is_not() -> None:
    full, model = rail.rail_named("area 1939 110 LB", Fraction(1)), rail.rail_named("AREA 1939 110 lb", Fraction(48))
    assert full is not None and model is not None and model.height == full.height / 48
    assert rail.rail_named("code 70", Fraction(1)) == rail.rail_named("Code  70", Fraction(160))
    assert rail.rail_named("code 71", Fraction(1)) is None


@pytest.mark.parametrize(
    ("ratio", "name"),
    [
        ("220", "code 40"),
        ("160", "code 55"),
        ("87.1", "code 70"),
        ("64", "code 83"),
        ("48", "code 100"),
        ("1", "AREA 1939 110 lb"),
    ],
)
def test_default_rails_are_called_practice(ratio: str, name: str) -> None:
    section = rail.default_rail(Fraction(ratio))
    assert section.name == name and "common practice, no source" in section.source


def test_ties() -> None:
    """7 x 9 in by 8 ft 6 in (MIL-HDBK-1005/6): 9 in / 87.1; overhang (102 - 56.5) / 2 in."""
    ties = practice.tie_practice(Fraction("87.1"), Fraction("16.4846"))
    assert ties.width == 9 * INCH / Fraction("87.1")
    assert ties.overhang == Fraction("22.75") * INCH / Fraction("87.1")
    narrow = practice.tie_practice(Fraction("87.1"), Fraction("10.4902"))
    assert narrow.width == 6 * INCH / Fraction("87.1") and "second-hand" in narrow.source


def test_the_data_files_are_yaml_as_well() -> None:
    """They are read as JSON for speed; a YAML reader must see the same."""
    folder = tables.files("turnout_templates.standards") / "data"
    names = sorted(path.name for path in folder.iterdir() if path.name.endswith(".yaml"))
    assert len(names) == 12
    for name in names:
        read = YAML(typ="safe", pure=True).load((folder / name).read_text("utf-8"))
        table = tables.read_table(name.removesuffix(".yaml"))
        assert len(read.get("rows", [])) == len(table.rows)
        assert {
            key: float(value) if isinstance(value, Fraction) else value
            for key, value in dict(table.head).items()
            if not isinstance(value, list | dict)
        } == {key: value for key, value in read.items() if not isinstance(value, list | dict)}


def test_every_row_says_how_it_is_known() -> None:
    folder = tables.files("turnout_templates.standards") / "data"
    for path in folder.iterdir():
        table = tables.read_table(path.name.removesuffix(".yaml"))
        assert {"document", "edition", "table", "unit"} <= set(table.head)
        for row in table.rows:
            assert table.known(row).split()[0].strip(";,") in {"read", "from", "ratio", "gauge", "derived"}, row
