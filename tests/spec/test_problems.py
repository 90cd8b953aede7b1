"""Every kind of mistake, with the line, column, key path and words in which it is told."""

# ruff: noqa: E501  (a table reads best with one mistake a line)

from pathlib import Path

import pytest
from spec.texts import EVERY_KEY, PLAIN, TWO_GAUGES

from turnout_templates.errors import InputProblems, Problem, spoken_path
from turnout_templates.spec import read_spec
from turnout_templates.spec.load import load_spec

QUARRY = "routes > quarry > path > 1st piece"
T, P = TWO_GAUGES, PLAIN


def problems(text: str) -> tuple[Problem, ...]:
    with pytest.raises(InputProblems) as told:
        read_spec(text, file="a.yaml", folder=None)
    return told.value.problems


def piece(text: str) -> tuple[str, str]:
    return ("straight: 18 in", text)


ONE_MISTAKE = [
    # (what is changed in which spec, into what; line, column, key path, phrase)
    (T, ("spec: 1\n", ""), 1, 1, "spec", 'The key "spec" is missing. Add "spec: 1".'),
    (T, ("spec: 1", "spec: 2"), 1, 7, "spec", 'Found "2" where the version of this form is expected'),
    (T, ("name: Tamsin Quarry, east switch\n", ""), 1, 1, "name", 'The key "name" is missing.'),
    (T, ("Tamsin Quarry, east switch", ""), 2, 1, "name", "Found nothing where a text is expected."),
    (T, ("Tamsin Quarry, east switch", "[a]"), 2, 7, "name", "Found a list where a text is expected."),
    (T, ("Tamsin Quarry, east switch", "x" * 130), 2, 7, "name", "This text has 130 characters. Keep it to 120."),
    (T, ("Tamsin Quarry, east switch", '"a\\nb"'), 2, 7, "name", "several lines"),
    (T, ("scale: HO\n", "scale: Proto48\n"), 3, 8, "scale", 'Did you mean "Proto:48"?'),
    (T, ("scale: HO\n", "scale: 1:0\n"), 3, 8, "scale", "more than zero"),
    (T, ("scale: HO\n", "scale: 1:5000\n"), 3, 8, "scale", "a ratio from 1:1 to 1:1000"),
    (T, ("scale: HO\n", "scale: {a: b}\n"), 3, 8, "scale", "Found a block of `key: value` lines where a text is expected."),
    (T, ("scale: HO\n", "scale: HO\nunits: cm\n"), 4, 8, "units", "mm or in is expected"),
    (T, ("scale: HO\n", "scale: HO\nscale: N\n"), 4, 1, "scale", 'The key "scale" comes twice; it was first said on line 3.'),
    (T, ("HOn3", "HOn33"), 4, 32, "gauges > narrow", 'Did you mean "HOn3"?'),
    (T, ("HOn3", "10.5"), 4, 32, "gauges > narrow", 'Write "10.5 mm"'),
    (T, ("HOn3", "4 m"), 4, 32, "gauges > narrow", "a gauge from 1 mm to 3 m"),
    (P, ("scale: HO", "scale: HO\ngauges: {common: HO}"), 4, 10, "gauges > common", "it names the rail that gauges share"),
    (P, ("scale: HO", "scale: HO\ngauges: {from: HO}"), 4, 10, "gauges > from", "it is a key of track_standard"),
    (P, ("scale: HO", "scale: HO\ngauges: {'a > b': HO}"), 4, 10, "gauges > a > b", "cannot be the name of a gauge"),
    (P, ("scale: HO", "scale: HO\ngauges: {}"), 4, 9, "gauges", "There is nothing in it."),
    (P, ("scale: HO", "scale: HO\ngauges: HO"), 4, 9, "gauges", "where a block of `key: value` lines is expected"),
    (T, ("S-3.2 (2010)", "S-3.2"), 5, 17, "track_standard", "Write NMRA S-3.2 (2010) or NMRA S-3.2 (older)."),
    (T, ("NMRA S-3.2 (2010)", "{from: NEM, narrow: {}}"), 5, 24, "track_standard > from", "name of a track standard"),
    (T, ("NMRA S-3.2 (2010)", "{from: NEM 110, x: {}}"), 5, 33, "track_standard > x", 'This spec has no gauge "x".'),
    (T, ("NMRA S-3.2 (2010)", "{from: NEM 110, narrow: {gap: 1 mm}}"), 5, 42, "track_standard > narrow > gap",
     "Known here: flangeway, check_gauge, span, point_spread, flangeway_depth."),
    (T, ("NMRA S-3.2 (2010)", "{from: NEM 110, narrow: {span: 10 mm}}"), 5, 48, "track_standard > narrow > span",
     "The span is not less than the check gauge"),
    (T, ("NMRA S-3.2 (2010)", "{from: NEM 110, narrow: {flangeway: 11 mm}}"), 5, 53, "track_standard > narrow > flangeway",
     "This is not less than the gauge itself, 10.49 mm."),
    (T, ("NMRA S-3.2 (2010)", "{from: NEM 110, narrow: {flangeway_depth: 2 mm}}"), 5, 59, "track_standard > narrow > flangeway_depth",
     "This is not less than the rail is high, 1.78 mm."),
    (T, ("HOn3", "16 mm"), 9, 13, "routes > main > gauges", "Gauges standard and narrow differ by 0.48 mm, so that their rails lie on each other"),
    (T, ("code 70", "70"), 6, 7, "rail", 'Write "code 70".'),
    (T, ("code 70", "code 71"), 6, 7, "rail", 'Did you mean "code 70"?'),
    (T, ("code 70", "{height: 2 mm, head: 1 mm}"), 6, 7, "rail > base", 'The key "base" is missing.'),
    (T, ("code 70", "{height: 2 mm, head: 1 mm, base: 0.5 mm}"), 6, 28, "rail > head", "This head is wider than the base."),
    (T, ("code 70", "code 297"), 6, 7, "rail",
     "too wide for a gauge of 10.49 mm"),
    (T, ("routes:", "tracks:"), 7, 1, "tracks", 'The key "tracks" is unknown here.'),
    (T, ("common_rail: left", "common_rail: middle"), 10, 18, "routes > main > common_rail", "left or right is expected"),
    (T, ("    common_rail: left\n", ""), 8, 3, "routes > main > common_rail", "nothing says which rail they share"),
    (T, ("hand: right", "hand: right\n    common_rail: right"), 18, 18, "routes > quarry > common_rail", "which is left"),
    (T, ("  quarry:", "  'a/b':"), 14, 3, "routes > a/b", "cannot be the name of a route"),
    (T, ("leaves: main", "leaves: mian"), 15, 13, "routes > quarry > leaves", 'There is no route "mian". Did you mean "main"?'),
    (T, ("leaves: main", "leaves: quarry"), 15, 13, "routes > quarry > leaves", "cannot leave itself"),
    (T, ("    at: 100 mm\n", ""), 14, 3, "routes > quarry > at", "Nothing says where this branch leaves."),
    (T, ("at: 100 mm", "at: mid"), 16, 9, "routes > quarry > at", "where a station, end or anywhere is expected"),
    (T, ("at: 100 mm", "at: -1 mm"), 16, 9, "routes > quarry > at", "is negative, and a station cannot be."),
    (T, ("at: 100 mm", "at: 100"), 16, 9, "routes > quarry > at", 'Write "100 mm" or "100 in"'),
    (T, ("hand: right", "hand: rigth"), 17, 11, "routes > quarry > hand", 'Did you mean "right"?'),
    (T, ("hand: right", "hands: right"), 17, 5, "routes > quarry > hands", 'Did you mean "hand"?'),
    (T, ("hand: right", "joins: mian"), 17, 12, "routes > quarry > joins", 'Did you mean "main"?'),
    (T, ("hand: right", "joins: quarry"), 17, 12, "routes > quarry > joins", "cannot join itself"),
    (T, ("hand: right", "joins: {at: end}"), 17, 12, "routes > quarry > joins > route", 'The key "route" is missing.'),
    (T, ("hand: right", "facing: with"), 17, 13, "routes > quarry > facing", 'Only a route that joins another takes'),
    (T, ("hand: right", "joins: main\n    facing: along"), 18, 13, "routes > quarry > facing", "with or against is expected"),
    (T, ("at: 100 mm", "at: anywhere"), 16, 9, "routes > quarry > at", "A branch cannot leave anywhere."),
    (T, ("leaves: main", "leaves: {route: main, at: 5 mm}"), 16, 9, "routes > quarry > at", "said twice"),
    (T, ("leaves: main", "leaves: {route: main, facing: back}"), 15, 35, "routes > quarry > leaves > facing",
     "with or against is expected"),
    (T, piece("straight: open"), 20, 19, QUARRY, "Only a route that joins another can leave its straight open."),
    (T, piece("frog: 6\n      - frog: 8"), 21, 9, "routes > quarry > path > 2nd piece", "Only one piece of a branch"),
    (T, ("hand: right", "start: {x: 1 mm}"), 17, 12, "routes > quarry > start", 'takes no "start"'),
    (T, ("hand: right", "points: slanted"), 17, 13, "routes > quarry > points", "tangent or fixed or a block of `key: value` lines is expected"),
    (T, ("hand: right", "points: {length: 9 mm, tip: 1 mm}"), 17, 13, "routes > quarry > points", 'no "spread"'),
    (T, ("hand: right", "points: {length: 2 mm, spread: 3 mm, tip: 0 mm}"), 17, 13, "routes > quarry > points", "longer than"),
    (T, ("hand: right", "points: {stub: 1.5 mm}"), 17, 20, "routes > quarry > points > stub", "at least 2.11 mm here"),
    (T, ("hand: right", "points: {stub: 3 mm, length: 40 mm}"), 17, 13, "routes > quarry > points", "The side to which"),
    (T, ("hand: right", "points: {stub: 17 mm}"), 17, 20, "routes > quarry > points > stub", "not less than the gauge"),
    (T, ("hand: right", "points: {stub: 3 mm, length: 3 mm}"), 17, 13, "routes > quarry > points", "longer than their throw"),
    (T, ("hand: right", "points: {stub: 3 mm, tip: 0 mm}"), 17, 31, "routes > quarry > points > tip", 'A stub takes no "tip"'),
    (T, ("hand: right", "points: {length: 3 mm}"), 17, 13, "routes > quarry > points", 'no "spread"'),
    (T, ("hand: right", "points: {stub: 3 mm, hinge: 40 mm}"), 17, 33, "routes > quarry > points > hinge", 'A stub takes no "hinge"'),
    (T, ("hand: right", "points: {hinge: 40 mm, tip: 0 mm}"), 17, 13, "routes > quarry > points", 'no "length"'),
    (T, ("hand: right", "points: {hinge: 40}"), 17, 21, "routes > quarry > points > hinge", "unit"),
    (T, ("hand: right", "points: {hinge: 0 mm}"), 17, 21, "routes > quarry > points > hinge", "too small"),
    (T, ("hand: right", "joins: {route: main, points: {stub: 2.1 mm}}"), 17, 41, "routes > quarry > joins > points > stub",
     "at least 2.11 mm here"),
    (T, ("hand: right", "points: {entry: 1 deg, tip: 0 mm}"), 17, 33, "routes > quarry > points > tip", 'either "entry"'),
    (T, ("hand: right", "points: {entry: 40 deg}"), 17, 21, "routes > quarry > points > entry", "at most 30 deg"),
    (T, ("hand: right", "points: {length: 90 mm, spread: 17 mm, tip: 0 mm}"), 17, 37, "routes > quarry > points > spread",
     "not less than the gauge"),
    (T, ("gauges: [standard]", "gauges: [standrad]"), 18, 14, "routes > quarry > gauges > 1st entry", 'Did you mean "standard"?'),
    (T, ("gauges: [standard]", "gauges: [standard, standard]"), 18, 24, "routes > quarry > gauges > 2nd entry", "twice"),
    (T, ("gauges: [standard]", "gauges: standard"), 18, 13, "routes > quarry > gauges", "where a list is expected"),
    (T, ("gauges: [standard]", "gauges: []"), 18, 13, "routes > quarry > gauges", "There is nothing in it."),
    (T, ("    path:\n      - straight: 18 in\n", ""), 14, 3, "routes > quarry > path", 'The key "path" is missing.'),
    (T, ("\n      - straight: 18 in", " []"), 19, 11, "routes > quarry > path", "There is nothing in it."),
    (T, ("\n      - straight: 18 in", " 18 in"), 19, 11, "routes > quarry > path", "where a list is expected"),
    (T, piece("18 in"), 20, 9, QUARRY, "Found \"18 in\" where a block of `key: value` lines is expected. A piece is written as"),
    (T, piece("straight: 18"), 20, 19, f"{QUARRY} > straight", "which has no unit"),
    (T, piece("straight: 0 mm"), 20, 19, f"{QUARRY} > straight", "too small for a length of track"),
    (T, piece("straight: 3 km"), 20, 19, f"{QUARRY} > straight", 'whose unit "km" is unknown'),
    (T, piece("straight: 900 m"), 20, 19, f"{QUARRY} > straight", "It may be 500,000 mm at most."),
    (T, piece("strait: 18 in"), 20, 9, f"{QUARRY} > strait", 'Did you mean "straight"?'),
    (T, piece("{}"), 20, 9, QUARRY, "This piece says nothing that it could be."),
    (T, piece("{straight: 1 mm, frog: 6}"), 20, 32, f"{QUARRY} > frog", 'Both "straight" and "frog" stand here.'),
    (T, piece("{straight: 1 mm, through: curved}"), 20, 35, f"{QUARRY} > through", "does not belong here"),
    (T, piece("{frog: 6, through: straight}"), 20, 28, f"{QUARRY} > through", "curved or a block of `key: value` lines is expected"),
    (T, piece("frog: 1:9"), 20, 15, f"{QUARRY} > frog", 'Write "frog_ratio: 1:9".'),
    (T, piece("frog: six"), 20, 15, f"{QUARRY} > frog", "a plain number, such as 6"),
    (T, piece("frog: 0.5"), 20, 15, f"{QUARRY} > frog", "It must be from 1 to 100."),
    (T, piece("frog_ratio: 9"), 20, 21, f"{QUARRY} > frog_ratio", "a ratio, such as 1:9"),
    (T, piece("frog_ratio: 9:1"), 20, 21, f"{QUARRY} > frog_ratio", "from 1:1 to 1:100"),
    (T, piece("frog_angle: 9"), 20, 21, f"{QUARRY} > frog_angle", 'Write "9 deg".'),
    (T, piece("frog_angle: 70 deg"), 20, 21, f"{QUARRY} > frog_angle", "at most 60 deg"),
    (T, piece("frog: 6\n      - frog: 5"), 21, 9, "routes > quarry > path > 2nd piece", "and the 1st does"),
    (T, piece("curve: {radius: 3 m, length: 9 mm}"), 20, 16, f"{QUARRY} > curve", 'This curve has no "turn".'),
    (T, piece("curve: {radius: 3 m, turn: left}"), 20, 16, f"{QUARRY} > curve", "none of them"),
    (T, piece("curve: {radius: 3 m, turn: left, length: 1 mm, angle: 1 deg}"), 20, 16, f"{QUARRY} > curve", "length and angle"),
    (T, piece("curve: {radius: 3 mm, turn: left, length: 1 mm}"), 20, 25, f"{QUARRY} > curve > radius", "less than the gauge"),
    (T, piece("curve: {radius: 90 mm, turn: left, length: 1 m}"), 20, 52, f"{QUARRY} > curve > length", "more than a whole circle"),
    (T, piece("curve: {radius: 9 km, turn: left, length: 1 m}"), 20, 25, f"{QUARRY} > curve > radius", "km"),
    (T, piece("curve: {radius: 3 m, turn: left, angle: 400 deg}"), 20, 49, f"{QUARRY} > curve > angle", "at most 360 deg"),
    (T, piece("curve: {radius: 3 m, turn: left, to: end}"), 20, 46, f"{QUARRY} > curve > to", "frog is expected"),
    (T, piece("curve: {frog: 6, radius: 3 m}"), 20, 34, f"{QUARRY} > curve > radius", "its radius is found"),
    (T, piece("curve: {radius: 3 m, turn: left, length: 1 mm, through: curved}"), 20, 65, f"{QUARRY} > curve > through", "none"),
    (T, piece("{frog: 6, lead: 0 mm}"), 20, 25, f"{QUARRY} > lead", "too small for a length of track"),
    (T, piece("{lead: 9 in}"), 20, 9, QUARRY, "This piece says nothing that it could be."),
    (T, piece("{straight: 9 in, lead: 9 in}"), 20, 32, f"{QUARRY} > lead", "does not belong here. Write it beside frog"),
    (T, piece("{curve: {frog: 6}, lead: 9 in}"), 20, 34, f"{QUARRY} > lead", "does not belong here. Write it beside frog"),
    (T, piece("curve: {radius: 3 m, turn: left, to: frog, lead: 9 in}"), 20, 58, f"{QUARRY} > curve > lead", "over-determined"),
    (T, piece("curve: {frog: 6, radius: 3 m, lead: 9 in}"), 20, 45, f"{QUARRY} > curve > lead", "over-determined"),
    (T, piece("curve: {radius: 3 m, turn: left, length: 1 mm, lead: 9 in}"), 20, 62, f"{QUARRY} > curve > lead", "runs to none"),
    (T, ("hand: right", "widening: proto"), 17, 15, "routes > quarry > widening", 'Did you mean "prototype"?'),
    (T, ("hand: right", "widening: {from: nobody}"), 17, 22, "routes > quarry > widening > from", "where a rule of gauge widening is expected"),
    (T, ("hand: right", "widening: {by: 0.3 mm}"), 17, 15, "routes > quarry > widening", 'This gauge widening has no "below".'),
    (T, ("hand: right", "widening: {taper: 90 mm}"), 17, 15, "routes > quarry > widening", 'This gauge widening has no "by".'),
    (T, ("hand: right", "widening: {from: prototype, by: 0.3 mm}"), 17, 37, "routes > quarry > widening > by", "Keep one of them."),
    (T, ("hand: right", "widening: {by: 3 mm, below: 900 mm}"), 17, 20, "routes > quarry > widening > by", "not less than the flangeway of standard, 1.22 mm"),
    (T, ("common_rail: left", "common_rail: left\n    widening: prototype"), 11, 15, "routes > main > widening", 'it says nothing of "narrow"'),
    (T, ("hand: right", "bend: {radius: 3 m, turn: left}"), 17, 11, "routes > quarry > bend", "a branch is bent with the route"),
    (T, ("common_rail: left\n", "common_rail: left\n    bend: {radius: 3 m, turn: left}\n"), 11, 11, "routes > main > bend",
     "and its 2nd piece is not"),
    (T, piece("easement: {length: 9 mm, from: strait, to: straight}"), 20, 40, f"{QUARRY} > easement > from", '"straight"?'),
    (T, piece("easement: {length: 9 mm, from: straight, to: straight}"), 20, 19, f"{QUARRY} > easement", "same curvature"),
    (T, piece("easement: {length: 9 mm, to: straight}"), 20, 19, f"{QUARRY} > easement > from", 'Add "from: straight".'),
    (T, piece("easement: {length: 9 mm, from: straight, to: {radius: 9 mm, turn: left}}"), 20, 63,
     f"{QUARRY} > easement > to > radius", "less than the gauge"),
    (T, ("- straight: 90 mm", "- frog: 6"), 12, 9, "routes > main > path > 1st piece", "Only a branch can run to a frog"),
    (T, ("common_rail: left\n", "common_rail: left\n    at: 3 mm\n"), 11, 9, "routes > main > at", "leaves another"),
    (T, ("    leaves: main\n    at: 100 mm\n    hand: right\n", ""), 14, 3, "routes > quarry > start", "where this route begins"),
    (T, ("rail: code 70", "ties: {width: 9 mm}"), 6, 15, "ties > width", "Ties 9 mm wide overlap at a spacing of 5.83 mm."),
    (T, ("rail: code 70", "ties: {copper: some}"), 6, 16, "ties > copper", "all or every second or every third"),
    (T, ("rail: code 70", "ties: {orientation: askew}"), 6, 21, "ties > orientation", "square or mean or fanned is expected"),
    (T, ("rail: code 70", "ties: {gap: 4 mm}"), 6, 13, "ties > gap", "leave 3.21 mm between them, less than a gap of 4 mm."),
    (T, ("rail: code 70", "ties: {strip: 1/2 in}"), 6, 15, "ties > strip", "Strip 12.7 mm long is shorter than a plain tie, "),
    (T, ("rail: code 70", "tip: 1 mm"), 6, 6, "tip", "not less than the rail's head, 0.89 mm"),
    (T, ("rail: code 70", "throw: 11 mm"), 6, 8, "throw", "not less than the gauge"),
    (T, ("rail: code 70", "base: club.yaml"), 6, 7, "base", "lies in no folder"),
    (P, ("turnout: {hand: left, frog: 6}", ""), 1, 1, "", "This spec says nothing of any track."),
    (P, ("frog: 6", "frog: 6, radius: 3 m"), 4, 40, "turnout > radius", 'Both "frog" and "radius" stand here.'),
    (P, ("hand: left, ", ""), 4, 10, "turnout > hand", 'Add "hand: left".'),
    (P, ("frog: 6", "frog: 6, main: {radius: 3 m}"), 4, 38, "turnout > main > turn", 'Add "turn: left".'),
    (P, ("frog: 6", "frog: 6, main: {radius: 3 mm, turn: left}"), 4, 47, "turnout > main > radius", "less than the gauge"),
    (P, ("frog: 6", "radius: 3 m, lead: 9 in"), 4, 42, "turnout > lead", "Leave the lead out, or give the frog"),
    (P, ("frog: 6", "frog: 6, lead: 9"), 4, 38, "turnout > lead", "which has no unit"),
    (P, ("frog: 6", "frog: 6, bend: {radius: 3 m}"), 4, 38, "turnout > bend > turn", 'Add "turn: left".'),
    (P, ("frog: 6", "frog: 6, bend: {radius: 9 mm, turn: left}"), 4, 47, "turnout > bend > radius", "less than the gauge"),
    (P, ("frog: 6", "frog: 6, bend: {radius: 20 mm, turn: left}"), 4, 47, "turnout > bend > radius", "more than a whole circle"),
    (P, ("frog: 6", "frog: 6, main: {radius: 3 m, turn: left}, bend: {radius: 3 m, turn: left}"), 4, 71, "turnout > bend",
     "Keep main to solve it on the curve, or bend"),
    (P, ("scale: HO", "scale: HO\ngauges: {a: HO, b: HOn3}"), 5, 10, "turnout > common_rail", "which rail they share"),
    (P, ("turnout: {hand: left, frog: 6}", "turnout:"), 4, 1, "turnout", "Found nothing where a block of `key: value` lines is expected."),
    # what YAML allows and a spec does not
    (P, ("left", "&a left"), 4, 17, "turnout > hand", "no anchors"),
    (P, ("left", "*a"), 4, 17, "turnout > hand", "no anchors"),
    (P, ("Plain No. 6", '"a\\ud800b"'), 2, 7, "name", "half a character"),
    (P, ("Plain No. 6", '"a\\x07b"'), 2, 7, "name", "a control character"),
    (P, ("Plain No. 6", '"a"\nnotes: "a\\x9bb"'), 3, 8, "notes", "a control character"),
    (P, ("left", "!!str left"), 4, 17, "turnout > hand", "no tags"),
    (P, ("scale: HO", "<<: {scale: HO}"), 3, 1, "", "no merge keys"),
    (P, ("scale: HO", "scale: HO\n---"), 4, 1, "", "A second document begins here"),
    (P, ("spec: 1", "%YAML 1.1\n---\nspec: 1"), 2, 1, "", "no YAML directives"),
    (P, ("scale: HO", "? [a]\n: HO"), 3, 3, "", "A list or a block of lines stands where a key is expected."),
    (P, ("Plain No. 6", "Plain: No. 6"), 2, 12, "", "Put a text that contains a colon in quotes"),
    (P, ("scale: HO", "\tscale: HO"), 3, 1, "", "YAML allows no tabs"),
    (P, ("{hand: left, frog: 6}", "[" * 30), 4, 29, None, "nested too deeply"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "change", "line", "column", "path", "phrase"), ONE_MISTAKE)
def test_one_mistake(text: str, change: tuple[str, str], line: int, column: int, path: str | None, phrase: str) -> None:
    assert change[0] in text
    found = problems(text.replace(*change, 1))
    assert any(
        (problem.line, problem.column) == (line, column)
        and path in (None, spoken_path(problem.key_path))
        and phrase in f"{problem.sentence} {problem.remedy}"
        for problem in found
    ), "\n".join(map(str, found))
    assert len(found) <= 2, "\n".join(map(str, found))


UNREADABLE = [
    # (what is changed in which spec, into what; line, column, phrase)
    (P, ("name: Plain", "name Plain"), 2, 1, 'No colon follows "name". Write "name: Plain No. 6".'),
    (P, ("spec: 1", "spec:1"), 1, 1, 'no space after the colon. Write "spec: 1".'),
    (P, ("scale: HO", "scale:HO"), 3, 1, 'no space after the colon. Write "scale: HO".'),
    (P, ("turnout: {", "turnout {"), 4, 1, 'No colon follows "turnout".'),
    (P, ("Plain No. 6", '"Plain No. 6'), 2, 7, "The quote that opens here is never closed."),
    (P, ("Plain No. 6", '"Plain" No. 6'), 2, 15, "This follows a closing quote."),
    (P, ("6}", "6"), 4, 10, "The bracket that opens here is never closed."),
    (P, ("left, frog", "left frog"), 4, 26, "Put a comma between two entries."),
    (P, ("Plain No. 6", '"C:\\Users\\me"'), 2, 12, "Use forward slashes, or single quotes"),
    (P, ("scale: HO", " scale: HO"), 3, 2, "begins after 1 space, and those above that it could belong with after no spaces"),
    (T, ("    at: 100", "   at: 100"), 16, 4, "begins after 3 spaces, and those above that it could belong with after 2 spaces or 4"),
    (P, ("scale: HO", "notes: |\n  no colon here\n\n scale: HO"), 6, 2, "begins after 1 space"),
    (T, ("    at: 100", "    at 100"), 16, 5, 'No colon follows "at".'),
    (T, ("    at: 100", "    at:\t100"), 16, 8, "A tab stands here."),
    (T, ("  main:", "  main"), 8, 3, 'Write "main:".'),
    (T, ("  quarry:", "  - quarry:"), 14, 3, "A dash begins this line"),
    (T, ("      - straight: 18 in", "      -straight: 18 in"), 19, 5, 'Write a dash and a space: "- straight: ...".'),
    (P, ("frog: 6", "frog: 6, main radius: 30 in"), 4, 32, 'Write "main: {radius: ...}".'),
    (P, ("hand: left", "hand:left"), 4, 11, 'Write "hand: left", with a space after the colon.'),
    (P, ("frog: 6", "frog: No. 6"), 4, 29, "Write 6."),
    (P, ("HO", "87.1"), 3, 8, 'Write "1:87.1".'),
    (P, ("HO", "1/87"), 3, 8, 'Write "1:87".'),
    (P, ("frog: 6", "radius: -20 in"), 4, 31, '"-20 in" is negative, and a radius cannot be.'),
]  # fmt: skip


@pytest.mark.parametrize(("text", "change", "line", "column", "phrase"), UNREADABLE)
def test_slips_of_the_pen(text: str, change: tuple[str, str], line: int, column: int, phrase: str) -> None:
    assert change[0] in text
    found = problems(text.replace(*change, 1))
    told = [(problem.line, problem.column) for problem in found if phrase in f"{problem.sentence} {problem.remedy}"]
    assert told == [(line, column)], "\n".join(map(str, found))


def test_what_is_no_text_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(b"%PDF-1.4\n\xff")
    for path, phrase in ((tmp_path, "is a folder, not a spec."), (tmp_path / "a.pdf", "is a PDF, not a spec.")):
        with pytest.raises(InputProblems, match=phrase):
            load_spec(path)


def test_all_mistakes_come_at_once_in_the_order_of_the_file() -> None:
    text = TWO_GAUGES.replace("code 70", "code 7O").replace("90 mm", "90").replace("[standard]", "[wide]")
    text = text.replace("leaves: main", "leaves: mian").replace("HOn3", "HOn4")
    assert [problem.line for problem in problems(text)] == [4, 6, 12, 15, 18]


def test_a_branch_of_a_branch_keeps_the_gauges_and_the_rail_of_the_first() -> None:
    far = "  far:\n    leaves: quarry\n    at: 20 mm\n    common_rail: right\n    gauges: [narrow]\n    path: [{straight: 1 m}]\n"
    told = {spoken_path(problem.key_path): problem.sentence for problem in problems(TWO_GAUGES + far)}
    assert told == {
        "routes > far > common_rail": "A branch keeps its parent's common rail, which is left.",
        "routes > far > gauges > 1st entry": 'The gauge "narrow" cannot leave a route that it does not run on.',
    }


def test_a_ring_of_routes_is_told_once_for_each() -> None:
    text = TWO_GAUGES.replace("    common_rail: left", "    common_rail: left\n    leaves: quarry\n    at: 3 mm")
    told = [problem for problem in problems(text) if "leads back" in problem.sentence]
    assert [spoken_path(problem.key_path) for problem in told] == ["routes > main > leaves", "routes > quarry > leaves"]


def test_a_gauge_cannot_leave_a_route_that_it_does_not_run_on() -> None:
    text = TWO_GAUGES.replace("gauges: [standard, narrow]\n", "gauges: [narrow]\n")
    (problem,) = problems(text)
    assert problem.sentence == 'The gauge "standard" cannot leave a route that it does not run on.'
    assert problem.remedy == "Its parent carries narrow."


def test_a_frog_needs_a_hand() -> None:
    text = TWO_GAUGES.replace("    hand: right\n", "").replace("straight: 18 in", "frog: 6")
    (problem,) = problems(text)
    assert spoken_path(problem.key_path) == "routes > quarry > hand" and "the side that the branch" in problem.sentence


def test_clearances_of_ones_own_must_be_whole() -> None:
    text = EVERY_KEY.replace("  from: NEM 110\n", "")
    told = {spoken_path(problem.key_path): problem.sentence for problem in problems(text)}
    assert told == {
        "track_standard > standard": 'The gauge "standard" has no clearances here.',
        "track_standard > slate > check_gauge": 'The key "check_gauge" is missing.',
        "track_standard > slate > point_spread": 'The key "point_spread" is missing.',
    }


@pytest.mark.parametrize("text", ["", "# nothing", "- a", "spec", "[]", "{}", "null", "'", "[", "@", "\0", "a: \ud800"])
def test_what_is_no_spec(text: str) -> None:
    assert problems(text)


def test_a_bomb_is_refused_at_once() -> None:
    text = "a: &a [x]\n" + "".join(
        f"{chr(98 + i)}: &{chr(98 + i)} [*{chr(97 + i)}, *{chr(97 + i)}]\n" for i in range(20)
    )
    (problem,) = problems(text)
    assert "no anchors" in problem.sentence and problem.line == 1
