"""Turn a written scalar into the quantity or the word that its key takes, or into a problem told in plain words.

These are the types that `forms` declares its keys with. Each reads a `Scalar` of the tree, exactly as written; the
spec's scale and its unit for bare numbers come from the `Setting` in the validation context.
"""

from __future__ import annotations

import difflib
import math
import re
import unicodedata
from collections.abc import Callable, Iterable
from fractions import Fraction
from typing import Annotated, Any, Literal, NoReturn

from msgspec import Struct, field
from pydantic import PlainValidator, ValidationInfo, WithJsonSchema
from pydantic_core import PydanticCustomError

from turnout_templates import units
from turnout_templates.errors import QuantityError
from turnout_templates.spec.tree import Scalar

OPEN = "open"
"""The word for a value that the path leaves to be found, so that its end meets another route."""
LONGEST_NAME = 120
LONGEST_NOTES = 20_000

SHORTEST = Fraction(1, 1000)
"""Nothing that has a size is smaller than this (mm): no file, saw or eye works to a micrometre."""
LONGEST_TRACK = Fraction(500_000)
"""No piece is longer than this (mm): 500 m holds a full-size No. 100."""
LARGEST_RADIUS = Fraction(20_000_000)
"""No curve is flatter than this (mm): in a model it cannot be told from straight track."""
LARGEST_COUNT = 100
"""No formation has more tracks than this: a yard of a hundred is the largest that is looked after."""
LARGEST_PLACE = Fraction(1_000_000)
"""No start lies further out than this (mm)."""


class Setting(Struct):
    """What the reading of a scalar depends on: the scale's `ratio` (None: not known), the unit of `bare` numbers.

    `inches` and `metric` count the lengths read in either, to tell what the spec is written in.
    """

    ratio: Fraction | None
    bare: units.Unit | None
    counts: dict[str, int] = field(default_factory=lambda: {"in": 0, "mm": 0})


def fail(sentence: str, remedy: str = "", at: tuple[str, ...] = ()) -> NoReturn:
    """Raise a problem for the value in hand, or for the value `at` further keys inside it."""
    raise PydanticCustomError("spec", "{sentence}", {"sentence": sentence, "remedy": remedy, "at": at})


def described(value: Any) -> str:
    """Return what was found, in words."""
    if isinstance(value, Scalar):
        return "nothing" if value.is_nothing else units.quoted(value.text)
    return (
        "a list"
        if isinstance(value, list)
        else "a block of `key: value` lines"
        if isinstance(value, dict)
        else "nothing"
    )


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the remedy for an unknown `word`: the nearest known one if any is near, else all of them."""
    names = list(dict.fromkeys(known))
    lowered = {name.casefold(): name for name in reversed(names)}
    near = difflib.get_close_matches(word.casefold(), lowered, n=1, cutoff=0.6)
    if near:
        return f'Did you mean "{lowered[near[0]]}"?'
    return f"Known here: {', '.join(names)}." if names else ""


def scalar_of(value: Any, expected: str, remedy: str = "") -> Scalar:
    """Return `value` if it is a scalar with something in it, else fail."""
    if not isinstance(value, Scalar) or value.is_nothing:
        fail(f"Found {described(value)} where {expected} is expected.", remedy)
    return value


def _read(reader: Callable[[], Fraction]) -> Fraction:
    try:
        return reader()
    except QuantityError as error:
        fail(error.sentence, error.remedy)


def _text(limit: int) -> PlainValidator:
    def read(value: Any) -> str:
        if limit == LONGEST_NOTES and isinstance(value, Scalar):
            return "" if value.is_nothing else _short(value.text, limit)
        text = scalar_of(value, "a text").text.strip()
        if not text:
            fail("Found nothing where a text is expected.")
        if "\n" in text:
            fail("This text runs over several lines.", "Keep it to one line.")
        return _short(text, limit)

    return PlainValidator(read)


def _short(text: str, limit: int) -> str:
    if any(unicodedata.category(mark) == "Cc" and mark not in "\n\t" for mark in text):
        fail("This text holds a control character, which cannot be printed.", "Leave it out.")
    if len(text) > limit:
        fail(f"This text has {len(text)} characters.", f"Keep it to {limit}.")
    return text


LengthReader = Callable[[Any, ValidationInfo], float]


def _length_reader(low: Fraction, high: Fraction, *, at_low: bool, what: str) -> LengthReader:
    def read(value: Any, info: ValidationInfo) -> float:
        written = scalar_of(value, units.LENGTH_EXPECTED.rstrip(","))
        setting: Setting = info.context  # type: ignore[assignment]
        size = _read(lambda: units.read_length(written.text, ratio=setting.ratio or Fraction(1), bare=setting.bare))
        setting.counts["in" if units.uses_inches(written.text) else "mm"] += 1
        if size < 0 <= low:
            fail(f"{_said(written)} is negative, and {what} cannot be.", "Leave the minus sign out.")
        if size < low or (size == low and not at_low):
            least = f"at least {float(low):g} mm" if at_low else f"more than {float(low):g} mm"
            fail(f"{_said(written)} is too small for {what}.", f"It must be {least}.")
        if size > high:
            fail(f"{_said(written)} is too large for {what}.", f"It may be {float(high):,.0f} mm at most.")
        return _finite(float(size), written)

    return read


def _length(low: Fraction, high: Fraction, *, at_low: bool, what: str) -> PlainValidator:
    return PlainValidator(_length_reader(low, high, at_low=at_low, what=what))


def _said(written: Scalar) -> str:
    return units.quoted(written.text)


def _finite(value: float, written: Scalar) -> float:
    if not math.isfinite(value) or (value == 0.0 and any(mark in "123456789" for mark in written.text)):
        fail(f"{_said(written)} is beyond what can be drawn.")
    return value


def _angle(low: float, high: float, what: str) -> PlainValidator:
    read = _angle_reader(low, high, what)
    return PlainValidator(lambda value: read(value, None))


def _angle_reader(low: float, high: float, what: str) -> Callable[[Any, Any], float]:
    def read(value: Any, info: Any) -> float:
        written = scalar_of(value, units.ANGLE_EXPECTED.rstrip(","))
        degrees = _read(lambda: units.read_angle(written.text))
        inside = degrees >= low if low < 0 else degrees > low
        if not inside or degrees > high:
            least = f"at least {low:g}" if low < 0 else f"more than {low:g}"
            fail(f"{_said(written)} cannot be {what}.", f"It must be {least} and at most {high:g} deg.")
        return _finite(units.radians(degrees), written)

    return read


def _number(value: Any) -> float:
    written = scalar_of(value, "a frog number, such as 6 or 6.5,")
    if ":" in written.text:
        fail(f"{_said(written)} is a ratio, not a frog number.", f'Write "frog_ratio: {written.text.strip()}".')
    if (
        said := re.fullmatch(r"(?:no\.?|nr\.?|number|#)\s*([0-9]+(?:\.[0-9]+)?)", written.text.strip(), re.I)
    ) is not None:
        fail(f"Found {_said(written)} where {units.NUMBER_EXPECTED.rstrip(',')}, is expected.", f"Write {said[1]}.")
    number = _read(lambda: units.read_number(written.text))
    if not 1 <= number <= 100:
        fail(f"{_said(written)} cannot be a frog number.", "It must be from 1 to 100.")
    return float(number)


def _frog_ratio(value: Any) -> float:
    written = scalar_of(value, "a ratio, such as 1:9,")
    ratio = _read(lambda: units.read_ratio(written.text))
    if not 1 <= ratio <= 100:
        fail(f"{_said(written)} cannot be a frog's ratio.", "It must be from 1:1 to 1:100.")
    return float(ratio)


def _choice(*words: str) -> PlainValidator:
    def read(value: Any) -> str:
        expected = " or ".join(words)
        word = scalar_of(value, expected).text.strip()
        if word not in words:
            fail(f"Found {units.quoted(word)} where {expected} is expected.", nearest(word, words))
        return word

    return PlainValidator(read)


def _station(value: Any, info: ValidationInfo) -> float | Literal["end"]:
    written = scalar_of(value, "a station, or end,")
    if written.text.strip() == "end":
        return "end"
    if written.text.strip().isalpha():
        fail(f"Found {_said(written)} where a station or end is expected.", nearest(written.text, ("end",)))
    return _station_length(value, info)


def _meeting(value: Any, info: ValidationInfo) -> float | Literal["end", "anywhere"]:
    written = scalar_of(value, "a station, end or anywhere")
    if written.text.strip() == "anywhere":
        return "anywhere"
    if written.text.strip().isalpha() and written.text.strip() != "end":
        sentence = f"Found {_said(written)} where a station, end or anywhere is expected."
        fail(sentence, nearest(written.text, ("end", "anywhere")))
    return _station(value, info)


def _or_open(read: Callable[[Any, ValidationInfo], float]) -> PlainValidator:
    """Let the word `open` stand where `read` reads a quantity: its value is found where the route joins another."""

    def either(value: Any, info: ValidationInfo) -> float | Literal["open"]:
        if isinstance(value, Scalar) and value.text.strip() == OPEN:
            return "open"
        return read(value, info)

    return PlainValidator(either)


def _count(value: Any) -> int:
    written = scalar_of(value, "a whole number")
    text = written.text.strip()
    if not text.isdecimal() or not text.isascii():
        fail(f"Found {_said(written)} where a whole number is expected.")
    if len(text) > 3 or not 1 <= int(text) <= LARGEST_COUNT:
        fail(f"{_said(written)} cannot be drawn at once.", f"It must be from 1 to {LARGEST_COUNT}.")
    return int(text)


def _version(value: Any) -> int:
    written = scalar_of(value, "the version of this form, which is 1,")
    if written.text.strip() != "1":
        fail(f"Found {_said(written)} where the version of this form is expected, which is 1.", 'Write "spec: 1".')
    return 1


_station_length = _length_reader(Fraction(0), LONGEST_TRACK, at_low=True, what="a station")
_LENGTH_SCHEMA = WithJsonSchema(
    {"type": ["string", "number"], "description": "a length with its unit", "examples": ["610 mm", "24 1/2 in"]}
)
_ANGLE_SCHEMA = WithJsonSchema({"type": "string", "description": "an angle", "examples": ["12 deg"]})
_OPEN_SCHEMA = WithJsonSchema(
    {"type": ["string", "number"], "description": "a length with its unit, or open", "examples": ["610 mm", "open"]}
)
_OPEN_ANGLE_SCHEMA = WithJsonSchema(
    {"type": "string", "description": "an angle, or open", "examples": ["12 deg", "open"]}
)
_TEXT_SCHEMA = WithJsonSchema({"type": ["string", "number"]})


def _words(*words: str) -> WithJsonSchema:
    return WithJsonSchema({"enum": list(words)})


_read_track = _length_reader(SHORTEST, LONGEST_TRACK, at_low=True, what="a length of track")
_read_radius = _length_reader(SHORTEST, LARGEST_RADIUS, at_low=True, what="a radius")
_track, _radius = PlainValidator(_read_track), PlainValidator(_read_radius)
_size = _length(SHORTEST, Fraction(10_000), at_low=True, what="a size")
_extra = _length(Fraction(0), Fraction(10_000), at_low=True, what="a size")
_coordinate = _length(-LARGEST_PLACE, LARGEST_PLACE, at_low=True, what="a place")

Text = Annotated[str, _text(LONGEST_NAME), _TEXT_SCHEMA]
Notes = Annotated[str, _text(LONGEST_NOTES), _TEXT_SCHEMA]
Version = Annotated[int, PlainValidator(_version), WithJsonSchema({"const": 1})]
TrackLength = Annotated[float, _track, _LENGTH_SCHEMA]
OptionalStraight = Annotated[float, _length(Fraction(0), LONGEST_TRACK, at_low=True, what="a length"), _LENGTH_SCHEMA]
Radius = Annotated[float, _radius, _LENGTH_SCHEMA]
Size = Annotated[float, _size, _LENGTH_SCHEMA]
Extra = Annotated[float, _extra, _LENGTH_SCHEMA]
Coordinate = Annotated[float, _coordinate, _LENGTH_SCHEMA]
Station = Annotated[float | Literal["end"], PlainValidator(_station), _LENGTH_SCHEMA]
Meeting = Annotated[float | Literal["end", "anywhere"], PlainValidator(_meeting), _LENGTH_SCHEMA]
OpenLength = Annotated[float | Literal["open"], _or_open(_read_track), _OPEN_SCHEMA]
OpenRadius = Annotated[float | Literal["open"], _or_open(_read_radius), _OPEN_SCHEMA]
OpenAngle = Annotated[
    float | Literal["open"], _or_open(_angle_reader(0, 360, "the angle of a curve")), _OPEN_ANGLE_SCHEMA
]
CurveAngle = Annotated[float, _angle(0, 360, "the angle of a curve"), _ANGLE_SCHEMA]
EntryAngle = Annotated[float, _angle(0, 30, "the angle of points"), _ANGLE_SCHEMA]
FrogAngle = Annotated[float, _angle(0.5, 60, "the angle of a frog"), _ANGLE_SCHEMA]
CrossingAngle = Annotated[float, _angle(0.5, 90, "the angle at which tracks cross"), _ANGLE_SCHEMA]
Heading = Annotated[float, _angle(-360, 360, "a heading"), _ANGLE_SCHEMA]
_NUMBER_SCHEMA = {"type": "number", "minimum": 1, "maximum": 100}
FrogNumber = Annotated[
    float | Literal["open"],
    _or_open(lambda value, info: _number(value)),
    WithJsonSchema({"anyOf": [_NUMBER_SCHEMA, {"const": "open"}]}),
]
KnownFrogNumber = Annotated[float, PlainValidator(_number), WithJsonSchema(_NUMBER_SCHEMA)]
FrogRatio = Annotated[float, PlainValidator(_frog_ratio), WithJsonSchema({"type": "string", "examples": ["1:9"]})]
Side = Annotated[Literal["left", "right"], _choice("left", "right"), _words("left", "right")]
Count = Annotated[
    int, PlainValidator(_count), WithJsonSchema({"type": "integer", "minimum": 1, "maximum": LARGEST_COUNT})
]
Sides = Annotated[Literal["single", "double"], _choice("single", "double"), _words("single", "double")]
Tips = Annotated[Literal["inside", "outside"], _choice("inside", "outside"), _words("inside", "outside")]
Units = Annotated[Literal["mm", "in"], _choice("mm", "in"), _words("mm", "in")]
Copper = Annotated[
    Literal["all", "every second", "every third", "every fourth", "where soldered", "none"],
    _choice("all", "every second", "every third", "every fourth", "where soldered", "none"),
    _words("all", "every second", "every third", "every fourth", "where soldered", "none"),
]
Orientation = Annotated[
    Literal["square", "mean", "fanned"], _choice("square", "mean", "fanned"), _words("square", "mean", "fanned")
]
Facing = Annotated[Literal["with", "against"], _choice("with", "against"), _words("with", "against")]
ToFrogWord = Annotated[Literal["frog"], _choice("frog"), _words("frog")]
