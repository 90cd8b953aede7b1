"""Turn written lengths, angles, numbers and ratios into exact values, and millimetres and radians into text.

Reading is exact: text becomes a `Fraction` and is rounded once, to the nearest float. Nothing else in the program
reads or prints a unit. A value is rounded for the eye only in the functions called `format_...`.

    610 mm   61 cm   0.6 m   24 in   24 1/2 in   24.5 in   24"   2 ft   4 ft 8 1/2 in   4' 8 1/2"
    8 ft 6 in scale   2.6 m scale      a prototype size, divided by the scale's ratio
    12 deg   12.5 deg   5 deg 43 min 29 s      angles
    1:87.1   1:9      ratios

An inch is 25.4 mm exactly (the international inch of 1959).
"""

from __future__ import annotations

import math
import re
import unicodedata
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from turnout_templates.errors import QuantityError

Unit = Literal["mm", "in"]

MM_PER_INCH = Fraction(254, 10)
LONGEST_TEXT = 60
"""No quantity needs more characters; more is a mistake, and would only cost time to read."""

_NOTHING = 1e-6
"""What is no more than a step by this much (mm) is a whole step, and the rest is rounding."""

_IN_MM: dict[str, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": MM_PER_INCH,
    "ft": 12 * MM_PER_INCH,
}
_LENGTH_WORDS: dict[str, str] = {
    **{word: word for word in _IN_MM},
    "inch": "in",
    "inches": "in",
    '"': "in",
    "foot": "ft",
    "feet": "ft",
    "'": "ft",
}
_ANGLE_WORDS: dict[str, str] = {
    **dict.fromkeys(("deg", "degree", "degrees", "°"), "deg"),
    **dict.fromkeys(("min", "minute", "minutes", "'"), "min"),
    **dict.fromkeys(("s", "sec", "second", "seconds", '"'), "s"),
}
_IN_DEGREES: dict[str, Fraction] = {"deg": Fraction(1), "min": Fraction(1, 60), "s": Fraction(1, 3600)}
_PLAIN_MARKS = str.maketrans({"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "‘": "'", "−": "-", "⁄": "/"})
_TERM = re.compile(
    r"""\s* (?: (?P<whole>[0-9]+)[ -]+(?P<top>[0-9]+)/(?P<bottom>[0-9]+)
             | (?P<top2>[0-9]+)/(?P<bottom2>[0-9]+)
             | (?P<decimal>[0-9]+(?:\.[0-9]+)?|\.[0-9]+) )
        \s* (?P<unit>[A-Za-z]+|["'°])? \s*""",
    re.VERBOSE,
)
_RATIO = re.compile(r"\s*([0-9.]+)\s*:\s*([0-9.]+)\s*")

LENGTH_EXPECTED = "a length with its unit, such as 610 mm, 24 1/2 in or 8 ft 6 in scale,"
ANGLE_EXPECTED = "an angle with its unit, such as 12 deg or 5 deg 43 min 29 s,"
NUMBER_EXPECTED = "a plain number, such as 6 or 6.5,"
RATIO_EXPECTED = "a ratio, such as 1:9,"

_Term = tuple[Fraction, str | None]


def quoted(text: str) -> str:
    """Return `text` in double quotes for a message, on one line and shortened when long."""
    shown = " ".join(text.split())
    return f'"{shown if len(shown) <= LONGEST_TEXT else shown[: LONGEST_TEXT - 3] + "..."}"'


def read_length(text: str, *, ratio: Fraction | None = None, bare: Unit | None = None) -> Fraction:
    """Return the written length `text` in mm, exactly; it may be negative.

    `ratio` is the scale's (87.1 for HO), by which a length that ends in `scale` is divided. `bare` is the unit that a
    number without a unit has, None where every length must say its unit. Raises QuantityError.
    """
    written, scaled = _without_scale(_tidied(text, LENGTH_EXPECTED))
    sign, written = _without_sign(written)
    terms = _terms(written, text, LENGTH_EXPECTED)
    size = sign * _length_of(terms, text, bare)
    if not scaled:
        return size
    if ratio is None:
        raise QuantityError(quoted(text), "a model size", "A size in scale needs the spec's scale.")
    return size / ratio


def read_angle(text: str) -> Fraction:
    """Return the written angle `text` in degrees, exactly; it may be negative. Raises QuantityError."""
    sign, written = _without_sign(_tidied(text, ANGLE_EXPECTED))
    terms = _terms(written, text, ANGLE_EXPECTED)
    if terms[0][1] is None and len(terms) == 1:
        raise QuantityError(f"{quoted(text)}, which has no unit,", ANGLE_EXPECTED, f'Write "{text.strip()} deg".')
    units = [_ANGLE_WORDS.get(unit or "") for _, unit in terms]
    if units not in (["deg"], ["deg", "min"], ["deg", "min", "s"], ["min"], ["min", "s"], ["s"]):
        raise QuantityError(quoted(text), ANGLE_EXPECTED)
    if any(value >= 60 for value, _ in terms[1:]):
        raise QuantityError(quoted(text), ANGLE_EXPECTED, "Minutes and seconds stay below 60.")
    parts = (value * _IN_DEGREES[unit or ""] for (value, _), unit in zip(terms, units, strict=True))
    return sign * sum(parts, Fraction(0))


def read_number(text: str) -> Fraction:
    """Return the written number `text` (`6`, `6.5`, `6 1/2`, `-3`), exactly. Raises QuantityError."""
    sign, written = _without_sign(_tidied(text, NUMBER_EXPECTED))
    terms = _terms(written, text, NUMBER_EXPECTED)
    if len(terms) != 1 or terms[0][1] is not None:
        raise QuantityError(quoted(text), NUMBER_EXPECTED)
    return sign * terms[0][0]


def read_ratio(text: str) -> Fraction:
    """Return how often the first term of the written ratio `text` goes into its second: 87.1 for `1:87.1`.

    Raises QuantityError.
    """
    written = _tidied(text, RATIO_EXPECTED)
    match = _RATIO.fullmatch(written)
    if match is None:
        raise QuantityError(quoted(text), RATIO_EXPECTED)
    first, second = (_decimal(part, text) for part in match.groups())
    if first <= 0 or second <= 0:
        raise QuantityError(quoted(text), RATIO_EXPECTED, "Both terms must be more than zero.")
    return second / first


def radians(degrees: Fraction) -> float:
    """Return exact `degrees` as radians."""
    return math.radians(float(degrees))


def uses_inches(text: str) -> bool:
    """Say whether the written length `text` is in inches or feet."""
    words = re.findall(r"[A-Za-z]+|[\"']", text.translate(_PLAIN_MARKS))
    return any(_LENGTH_WORDS.get(word) in ("in", "ft") for word in words)


def format_mm(mm: float, places: int = 2) -> str:
    """Return `mm` rounded to `places` decimals, closing zeros dropped: `248.4 mm`."""
    return f"{_trimmed(mm, places)} mm"


def format_inches(mm: float, denominator: int = 64) -> str:
    """Return `mm` as inches, rounded to the nearest 1/`denominator` and reduced: `9 25/32 in`."""
    parts = round(Fraction(mm) / MM_PER_INCH * denominator)
    whole, rest = divmod(abs(parts), denominator)
    shown = Fraction(rest, denominator)
    sign = "-" if parts < 0 else ""
    if not rest:
        return f"{sign}{whole} in"
    fraction = f"{shown.numerator}/{shown.denominator}"
    return f"{sign}{whole} {fraction} in" if whole else f"{sign}{fraction} in"


def format_decimal_inches(mm: float, places: int = 3) -> str:
    """Return `mm` as decimal inches rounded to `places`, closing zeros dropped: `9.78 in`."""
    return f"{_trimmed(mm / float(MM_PER_INCH), places)} in"


def format_length(mm: float, unit: Unit) -> str:
    """Return `mm` in one unit, rounded for reading: mm to a tenth, inches to 1/64."""
    return format_mm(mm, 1) if unit == "mm" else format_inches(mm)


def format_clearance(mm: float, unit: Unit) -> str:
    """Return a small `mm` in one unit, finely: mm to a hundredth, inches to a thousandth."""
    return format_mm(mm) if unit == "mm" else format_decimal_inches(mm)


def format_reach(low: float, high: float, unit: Unit) -> str:
    """Return from where to where, the unit said once: `13.1 to 18.2 mm`; what lies before a mark is negative.

    Where both would read alike, both are told finely: `0 to 0.004 in`.
    """
    ends = [format_length(mm, unit) for mm in (low, high)]
    if ends[0] == ends[1]:
        ends = [format_clearance(mm, unit) for mm in (low, high)]
    return f"{ends[0].removesuffix(f' {unit}')} to {ends[1]}"


def format_length_with_mm(mm: float, unit: Unit) -> str:
    """Return `mm` in the reader's unit as `format_length` does, mm in brackets after inches: `3/4 in (19 mm)`."""
    return format_length(mm, unit) if unit == "mm" else f"{format_inches(mm)} ({format_mm(mm, 1)})"


def format_clearance_with_mm(mm: float, unit: Unit, places: int = 2, bracket: str = "(") -> str:
    """Return a small `mm` in the reader's unit, with mm to `places` after inches: `0.05 in (1.27 mm)`.

    `bracket` "=" is for a length that stands in brackets itself: `0.05 in = 1.27 mm`.
    """
    metric = format_mm(mm, places)
    if unit == "mm":
        return metric
    inches = format_decimal_inches(mm)
    return f"{inches} = {metric}" if bracket == "=" else f"{inches} ({metric})"


def format_at_least(mm: float, unit: Unit) -> str:
    """Return a length to be kept at least, rounded up: to whole mm, or to 1/32 in with mm in brackets after it."""
    if unit == "mm":
        return f"{math.ceil(mm - _NOTHING)} mm"
    step = float(MM_PER_INCH) / 32
    return format_length_with_mm(math.ceil((mm - _NOTHING) / step) * step, unit)


def format_degrees(angle: float, places: int = 3) -> str:
    """Return `angle` radians as decimal degrees, closing zeros dropped: `9.527 deg`."""
    return f"{_trimmed(math.degrees(angle), places)} deg"


def format_dms(angle: float) -> str:
    """Return `angle` radians as degrees, minutes and whole seconds: `5 deg 43 min 29 s`."""
    seconds = round(abs(math.degrees(angle)) * 3600)
    sign = "-" if angle < 0 and seconds else ""
    return f"{sign}{seconds // 3600} deg {seconds // 60 % 60} min {seconds % 60} s"


def format_ratio(ratio: float) -> str:
    """Return `ratio` as text that `read_ratio` reads back unchanged: `1:87.1`."""
    return f"1:{_exact_decimal(ratio)}"


def exact_length(mm: float, unit: Unit) -> str:
    """Return a text that `read_length` turns back into the same float, in `unit` where that can be done."""
    if unit == "in":
        for text in (format_inches(mm), *(f"{mm / float(MM_PER_INCH):.{places}f} in" for places in range(1, 18))):
            if float(read_length(text)) == mm:
                return text
    return f"{_exact_decimal(mm)} mm"


_HALF = 1e-9
"""What is short of half a last place by so much of it is rounded up as well: sizes that are alike read alike."""


def _trimmed(value: float, places: int) -> str:
    shown = f"{value + math.copysign(_HALF * 10.0**-places, value):.{places}f}"
    shown = shown.rstrip("0").rstrip(".") if "." in shown else shown
    return "0" if shown in ("-0", "") else shown


def _exact_decimal(value: float) -> str:
    return f"{Decimal(repr(float(value))):f}".removesuffix(".0")


def _tidied(text: str, expected: str) -> str:
    if len(text) > LONGEST_TEXT:
        raise QuantityError(quoted(text), expected)
    spread = "".join(f" {mark}" if "VULGAR FRACTION" in unicodedata.name(mark, "") else mark for mark in text)
    plain = unicodedata.normalize("NFKC", spread.translate(_PLAIN_MARKS)).translate(_PLAIN_MARKS).strip()
    if not plain:
        raise QuantityError("nothing", expected)
    return plain


def _without_scale(written: str) -> tuple[str, bool]:
    bare = written.removesuffix("scale")
    return (bare.rstrip(), True) if bare != written else (written, False)


def _without_sign(written: str) -> tuple[int, str]:
    if written[:1] in ("-", "+"):
        return (-1 if written[0] == "-" else 1), written[1:].lstrip()
    return 1, written


def _terms(written: str, text: str, expected: str) -> list[_Term]:
    terms: list[_Term] = []
    place = 0
    while place < len(written):
        if terms and written[place] == "-":
            place += 1
        match = _TERM.match(written, place)
        if match is None:
            comma = "Write decimals with a point." if re.search(r"[0-9],[0-9]", written) else ""
            raise QuantityError(quoted(text), expected, comma)
        terms.append((_value(match, text), match["unit"]))
        place = match.end()
    if not terms:
        raise QuantityError(quoted(text), expected)
    return terms


def _value(match: re.Match[str], text: str) -> Fraction:
    if match["decimal"] is not None:
        return Fraction(match["decimal"])
    whole, top, bottom = match["whole"] or "0", match["top"] or match["top2"], match["bottom"] or match["bottom2"]
    if int(bottom) == 0:
        raise QuantityError(quoted(text), "a number", "Nothing can be divided by zero.")
    return int(whole) + Fraction(int(top), int(bottom))


def _length_of(terms: list[_Term], text: str, bare: Unit | None) -> Fraction:
    if len(terms) == 1 and terms[0][1] is None:
        if bare is None:
            remedy = f'Write "{text.strip()} mm" or "{text.strip()} in", or say "units: mm" or "units: in" at the top.'
            raise QuantityError(f"{quoted(text)}, which has no unit,", LENGTH_EXPECTED, remedy)
        return terms[0][0] * _IN_MM[bare]
    units = [_LENGTH_WORDS.get((unit or "").lower()) for _, unit in terms]
    unknown = next((unit for (_, unit), known in zip(terms, units, strict=True) if unit and known is None), None)
    if unknown is not None:
        found = f'{quoted(text)}, whose unit "{unknown}" is unknown,'
        raise QuantityError(found, LENGTH_EXPECTED, "The units are mm, cm, m, in and ft.")
    if None in units or (len(units) > 1 and units != ["ft", "in"]):
        raise QuantityError(quoted(text), LENGTH_EXPECTED)
    return sum((value * _IN_MM[unit or ""] for (value, _), unit in zip(terms, units, strict=True)), Fraction(0))


def _decimal(part: str, text: str) -> Fraction:
    if not re.fullmatch(r"[0-9]+(\.[0-9]+)?|\.[0-9]+", part):
        raise QuantityError(quoted(text), RATIO_EXPECTED)
    return Fraction(part)
