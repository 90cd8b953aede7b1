"""How parts look: layers, line widths and text sizes. Nothing here is bigger or darker than the bench needs.

Lines differ by width and dash, never by colour; fills are light tints that a tired ink-jet still shows and that
leave the pencil line visible.
"""

from __future__ import annotations

from turnout_templates.drawing.items import Fill, Stroke

TIES, BARE, TIE_TEXT = "ties", "copper taken off", "tie numbers"
RAILS, FILED, GUIDES = "rails", "filed heads", "wings and guards"
RAIL_NAMES, ROUTE_NAMES = "rail names", "route names"
BASES, JOINTS, WIRING = "filing marks", "joints and gaps", "wiring"
CENTRE, POINTS, FROGS = "centre lines", "switch marks", "frog marks"
LEADERS, LABELS, FINDINGS = "leaders", "labels", "findings"
LAYERS = (
    *(TIES, TIE_TEXT, BARE, CENTRE, LEADERS, FILED, GUIDES, RAILS, BASES, WIRING, JOINTS),
    *(ROUTE_NAMES, RAIL_NAMES, POINTS, FROGS, LABELS, FINDINGS),
)
"""Every layer, in drawing order."""

FACE = Stroke(0.2)
EDGE = Stroke(0.07)
FILED_EDGE = Stroke(0.12)
FILED_FILL = Fill(grey=0.8)
GUIDE_EDGE = Stroke(0.12)
GUIDE_FILL = Fill(grey=0.92)
TIE_EDGE = Stroke(0.07, grey=0.35)
HEADBLOCK_EDGE = Stroke(0.25, grey=0.2)
COPPER_FILL = Fill(hatch=1.3, hatch_stroke=Stroke(0.05, grey=0.6))
NO_FILL = Fill()
NOTCH_FILL = Fill(grey=0.85)
NOTCH_EDGE = Stroke(0.1, grey=0.2)
BASE_CUT = Stroke(0.09, dash=(0.45, 0.35), grey=0.2)
BASE_NOTCH = Stroke(0.13, grey=0.2)
CUT_SIDE = Stroke(0.18)
SPLICE = Stroke(0.16)
JOINT = Stroke(0.13)
DRILL = Stroke(0.08)
COPPER_GAP = Stroke(0.18, grey=0.1)
COPPER_OFF = Stroke(0.07, dash=(0.3, 0.3), grey=0.2)
COPPER_OFF_FILL = Fill(grey=1.0)
FEEDER = Stroke(0.11)
CENTRE_LINE = Stroke(0.07, dash=(6.0, 1.2, 0.8, 1.2), grey=0.3)
STATION_TICK = Stroke(0.12)
MARK = Stroke(0.15)
LEADER = Stroke(0.06, grey=0.25)
BAR = Stroke(0.15, dash=(1.5, 0.7))

LABEL_SIZE = 2.1
"""Text of labels in mm, about 6 pt."""
TIE_TEXT_SIZE, ON_TIE_SIZE = 1.6, 1.5
"""Text at tie ends in mm: what still fits the tie spacing of N; and what fits between a tie's end and a rail on it."""
STATION_SIZE = 1.7
RAIL_NAME_SIZE = 1.5
