"""Named tolerances, each with its reason. Lengths in mm, angles in radians."""

SAME_POINT = 1e-7
"""Two crossings nearer than this are one: far below any tool, far above rounding at kilometre coordinates."""

CONTACT = 1e-7
"""Curves that stay nearer than this touch or coincide and do not cross; a crossing shows more on both sides."""

JOINT = 1e-6
"""The most that pieces of a path may be apart where they join, to absorb rounding in what made them."""

FLAT = 0.002
"""The sagitta of chords that stand for a curve where regions are computed: a fiftieth of a drawn hairline."""

CUBIC = 1e-4
"""The most that a cubic may stray from the clothoid it stands for: a hundredth of what paper must hold."""

CHUNK_TURN = 0.3
"""Curves are searched in chunks that turn no more than this, so that feet of perpendiculars are unique."""
