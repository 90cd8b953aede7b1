"""Say what the marks on the sheets mean."""

from __future__ import annotations

from turnout_templates.reports.block import Row

LEGEND: tuple[Row, ...] = (
    ("firm line", "gauge face of a rail: set the rail's inner side on it"),
    ("thin line beside it", "outer edge of the rail's head"),
    ("grey shape", "a head to be filed: a point, or a rail at a frog"),
    ("light shape, bent ends", "wing rail or guard rail with its flares"),
    ("cross", "theoretical point of a frog, where the gauge faces cross"),
    ("small ring", "practical point: file the V blunt here"),
    ("tick on a rail", "filed tip, full head, heel; where a rail stops for a flangeway, or its gauge changes"),
    ("tick every 10 mm or 1/2 in", "station on the centre line, from the start of the route"),
    ("rectangles", "ties, hatched when copper-clad; the heavy pair are the headblocks"),
    ("grey box on a tie", "notch the tie here for the rail joiner"),
    ("text at a tie's end", "number of the tie and the length to cut"),
    ("dashed rectangle", "throw bar between the headblocks, halfway through its travel"),
    ("small rectangle on it", "slot in the baseboard for the throw wire; drill the bar at its middle"),
    ("F, S, G and a number", "frog, switch, guard rail"),
    ("R3b", "name of a rail in the figures"),
    ("heavy dashes at an edge", "cut here, then lay this edge on the sheet that it names"),
    ("fine dots at an edge", "leave the paper: it goes under the sheet that it names, and is glued there"),
    ("pale dots inside an edge", "where the edge of the neighbour that it names comes to lie"),
    ("cross in a circle", "registration mark: lay it on the same mark of the neighbour"),
    ("line between two ticks", "bar beside the drawing: measure it before you trust the sheet"),
)
STUB_LEGEND: tuple[Row, ...] = (
    ("dashes up to a toe", "gauge faces of a stub's swinging rails as they lie when thrown for the branch"),
)
