"""Specs that the tests of this folder share: the two of the design, and one that uses every key."""

TWO_GAUGES = """\
spec: 1
name: Tamsin Quarry, east switch
scale: HO
gauges: {standard: HO, narrow: HOn3}
track_standard: NMRA S-3.2 (2010)
rail: code 70
routes:
  main:
    gauges: [standard, narrow]
    common_rail: left
    path:
      - straight: 90 mm
      - curve: {radius: 30 in, turn: left, length: 420 mm}
  quarry:                      # the wide gauge alone runs on to the crusher
    leaves: main
    at: 100 mm
    hand: right
    gauges: [standard]
    path:
      - straight: 18 in
"""

PLAIN = """\
spec: 1
name: Plain No. 6
scale: HO
turnout: {hand: left, frog: 6}
"""

EVERY_KEY = """\
spec: 1
name: "Brindle Fen: everything"
revision: 1.10
notes: |
  First line: all keys.
  Second line.
units: in
scale: N
gauges: {standard: N, slate: 0.25}
track_standard:
  from: NEM 110
  slate: {flangeway: 0.75 mm, span: 5.25 mm}
rail: {height: 0.055, head: 0.7 mm, base: 0.055}
ties: {width: 1/16, thickness: 1/32, switch_width: 1/16, spacing: 0.125, switch_spacing: 9/64, overhang: 4 mm,
  headblock_overhang: 12 mm, length_step: 1 mm, copper: every second}
tip: 0.004
frog_point: 0.1 mm
throw: 1.5 mm
routes:
  quarry:
    leaves: main
    at: 2 1/2
    hand: left
    points: {length: 1, spread: 0.06, tip: 0.01}
    gauges: [slate]
    path:
      - {frog_ratio: 1:5, through: {straight: 3 mm}, lead: 3.5}
      - curve: {radius: 12, turn: right, angle: 5 deg 43 min 29 s}
  main:
    common_rail: right
    start: {x: 1, y: -2, heading: 12 deg}
    path:
      - straight: 12
      - easement: {length: 4, from: straight, to: {radius: 20, turn: left}}
      - curve: {radius: 20, turn: left, length: 3}
  tramroad:
    common_rail: left
    start: {x: 1, y: -9}
    bend: {radius: 40, turn: right}
    widening: {by: 0.2 mm, below: 45, taper: 2}
    path:
      - straight: 6
  siding:
    leaves: main
    at: end
    points: {entry: 1 deg}
    path:
      - curve: {radius: 30, turn: left, length: 5}
"""
