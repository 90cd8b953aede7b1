"""Written quantities: what is read is exact, what is printed reads back, what is wrong is told, not thrown."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnout_templates import units
from turnout_templates.errors import QuantityError

HO = Fraction("87.1")


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("610 mm", "610"),
        ("610mm", "610"),
        ("61 cm", "610"),
        ("0.6 m", "600"),
        (".5 m", "500"),
        ("24 in", "609.6"),  # 24 x 25.4
        ("24 1/2 in", "622.3"),  # 24.5 x 25.4
        ("24-1/2 in", "622.3"),
        ("24½ in", "622.3"),
        ("24.5 in", "622.3"),
        ('24"', "609.6"),
        ("24″", "609.6"),
        ("1/64 in", "0.396875"),  # 25.4 / 64
        ("2 ft", "609.6"),
        ("4 ft 8 1/2 in", "1435.1"),  # 56.5 x 25.4, standard gauge
        ("4' 8 1/2\"", "1435.1"),
        ("4'-8 1/2\"", "1435.1"),
        ("-3 mm", "-3"),
        ("+3 mm", "3"),
        ("3 MM", "3"),
    ],
)
def test_a_length_is_read_exactly(text: str, mm: str) -> None:
    assert units.read_length(text) == Fraction(mm)


def test_a_size_in_scale_is_divided_by_the_ratio() -> None:
    assert units.read_length("8 ft 6 in scale", ratio=HO) == Fraction("2590.8") / HO  # 102 in
    assert units.read_length("2.6 m scale", ratio=HO) == 2600 / HO
    with pytest.raises(QuantityError, match="needs the spec's scale"):
        units.read_length("2.6 m scale")


@pytest.mark.parametrize(("bare", "mm"), [("mm", "24.5"), ("in", "622.3")])
@pytest.mark.parametrize("text", ["24.5", "24 1/2"])
def test_a_bare_number_takes_the_unit_of_the_spec(text: str, bare: units.Unit, mm: str) -> None:
    assert units.read_length(text, bare=bare) == Fraction(mm)


@pytest.mark.parametrize(
    ("text", "phrase"),
    [
        ("24", 'Write "24 mm" or "24 in"'),
        ("", "nothing"),
        ("   ", "nothing"),
        ("x", '"x"'),
        ("61,5 mm", "point"),
        ("3 furlongs", 'unit "furlongs" is unknown'),
        ("12 deg", 'unit "deg" is unknown'),
        ("1/0 in", "divided by zero"),
        ("2 in 3 ft", "length"),
        ("2 ft 3 ft", "length"),
        ("1 m 20 cm", "length"),
        ("1e3 mm", "length"),
        ("0x10 mm", "length"),
        ("--3 mm", "length"),
        ("nan mm", "length"),
        ("inf", "length"),
        ("9" * 400 + " mm", "length"),
        ("٣ mm", "length"),
        ("mm", "length"),
        ("scale", "length"),
    ],
)
def test_what_is_no_length_is_told(text: str, phrase: str) -> None:
    with pytest.raises(QuantityError) as told:
        units.read_length(text)
    assert phrase in str(told.value)


@pytest.mark.parametrize("text", ["2 3 in", "2 ft 3", "2 3", "1/2 3/4"])
def test_a_bare_number_stands_alone(text: str) -> None:
    with pytest.raises(QuantityError):
        units.read_length(text, bare="mm")


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("12 deg", Fraction(12)),
        ("12.5°", Fraction(25, 2)),
        ("5 deg 43 min 29 s", Fraction(5 * 3600 + 43 * 60 + 29, 3600)),
        ("5° 43' 29\"", Fraction(5 * 3600 + 43 * 60 + 29, 3600)),
        ("30 min", Fraction(1, 2)),
        ("-90 deg", Fraction(-90)),
    ],
)
def test_an_angle_is_read_exactly(text: str, degrees: Fraction) -> None:
    assert units.read_angle(text) == degrees


@pytest.mark.parametrize(
    "text", ["12", "5 deg 70 min", "5 min 3 deg", "5 deg 5 deg", "12 mm", "", "x deg", "5 deg 3 s"]
)
def test_what_is_no_angle_is_told(text: str) -> None:
    with pytest.raises(QuantityError, match="deg"):
        units.read_angle(text)


def test_ratios_and_numbers() -> None:
    assert units.read_ratio("1:87.1") == HO
    assert units.read_ratio(" 2 : 9 ") == Fraction(9, 2)
    assert units.read_number("6 1/2") == units.read_number("6.5") == Fraction(13, 2)
    for text in ("1:0", "0:1", "1:2:3", "1/9", "1:x", "1:.", ":", "9"):
        with pytest.raises(QuantityError):
            units.read_ratio(text)
    for text in ("6 in", "1 2", "six", "1:9", ""):
        with pytest.raises(QuantityError):
            units.read_number(text)


@pytest.mark.parametrize(
    ("mm", "metric", "inches"),
    [
        (248.4, "248.4 mm", "9 25/32 in"),  # 248.4/25.4 = 9.7795; x64 = 625.9, so 626/64 = 9 25/32
        (25.4, "25.4 mm", "1 in"),
        (-12.7, "-12.7 mm", "-1/2 in"),
        (0.0, "0 mm", "0 in"),
        (-0.001, "0 mm", "0 in"),
        (622.3, "622.3 mm", "24 1/2 in"),
    ],
)
def test_lengths_are_printed_in_both_units(mm: float, metric: str, inches: str) -> None:
    assert units.format_mm(mm) == metric
    assert units.format_inches(mm) == inches


@pytest.mark.parametrize(
    ("mm", "unit", "length", "clearance", "kept"),
    [
        (248.4, "mm", "248.4 mm", "248.4 mm", "249 mm"),
        # 248.4/25.4 = 9.77953: 626/64 = 9 25/32; of whole 32nds the first that is no less is 9 25/32 = 248.444 mm.
        (248.4, "in", "9 25/32 in (248.4 mm)", "9.78 in (248.4 mm)", "9 25/32 in (248.4 mm)"),
        # 1.27/25.4 = 0.05 = 3.2/64; the next 32nd is 2/32 = 1.5875 mm.
        (1.27, "in", "3/64 in (1.3 mm)", "0.05 in (1.27 mm)", "1/16 in (1.6 mm)"),
        (20.0 + 1e-9, "mm", "20 mm", "20 mm", "20 mm"),
        (20.01, "mm", "20 mm", "20.01 mm", "21 mm"),
        (25.4 - 1e-9, "in", "1 in (25.4 mm)", "1 in (25.4 mm)", "1 in (25.4 mm)"),
        (25.41, "in", "1 in (25.4 mm)", "1 in (25.41 mm)", "1 1/32 in (26.2 mm)"),
    ],
)
def test_lengths_are_spoken_in_the_readers_unit_with_mm(
    mm: float, unit: units.Unit, length: str, clearance: str, kept: str
) -> None:
    assert units.format_length_with_mm(mm, unit) == length
    assert units.format_clearance_with_mm(mm, unit) == clearance
    assert units.format_at_least(mm, unit) == kept
    # Inside brackets there are none.
    assert units.format_clearance_with_mm(mm, unit, bracket="=") == clearance.replace(" (", " = ").rstrip(")")


def test_angles_are_printed() -> None:
    no_10 = 2 * math.atan(1 / 20)  # 5 deg 43 min 29 s (NMRA, as published to the minute: 5 deg 43 min)
    assert units.format_dms(no_10) == "5 deg 43 min 29 s"
    assert units.format_degrees(no_10) == "5.725 deg"
    assert units.format_dms(-no_10) == "-5 deg 43 min 29 s"


FINITE = st.floats(min_value=-1e9, max_value=1e9, allow_nan=False)


@given(FINITE, st.sampled_from(["mm", "in"]))
def test_an_exact_length_reads_back_to_the_same_float(mm: float, unit: units.Unit) -> None:
    try:
        assert float(units.read_length(units.exact_length(mm, unit))) == mm
    except QuantityError as error:  # a text longer than any quantity, from the smallest floats only
        assert abs(mm) < 1e-20, error


@given(st.integers(0, 10**6), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_inch_fractions_are_exact(whole: int, top: int, bottom: int) -> None:
    read = units.read_length(f"{whole} {top}/{bottom} in")
    assert read == (whole + Fraction(top, bottom)) * Fraction(254, 10)
    assert units.read_length(units.format_inches(float(read))) == read


@given(st.decimals(0, 10**7, places=4, allow_nan=False))
def test_units_of_one_length_agree(number: object) -> None:
    mm = units.read_length(f"{number} mm")
    assert units.read_length(f"{number} cm") == 10 * mm
    assert units.read_length(f"{number} m") == 1000 * mm
    assert units.read_length(f"{number} in") == mm * Fraction(127, 5)
    assert units.read_length(f"{number} ft") == 12 * mm * Fraction(127, 5)


@given(st.floats(1, 1000))
def test_a_printed_ratio_reads_back(ratio: float) -> None:
    assert float(units.read_ratio(units.format_ratio(ratio))) == ratio


@given(st.text(max_size=80) | st.text(alphabet="0123456789 ./-'\"ftinmdegscale:,½°+", max_size=40))
def test_any_text_is_read_or_told(text: str) -> None:
    for read in (units.read_length, units.read_angle, units.read_number, units.read_ratio):
        try:
            assert isinstance(read(text), Fraction)
        except QuantityError as error:
            assert error.found and error.expected


def test_sizes_that_are_alike_but_for_their_last_bits_read_alike() -> None:
    # 8.5725 mm is 0.3375 in, half way between two thousandths.
    for mm in (8.5725, math.nextafter(8.5725, 0.0), math.nextafter(8.5725, 9.0), 8.5725 - 1e-12):
        assert units.format_clearance(mm, "in") == "0.338 in"
        assert units.format_clearance(-mm, "in") == "-0.338 in"
    assert units.format_clearance(8.5725 - 1e-6, "in") == "0.337 in"
