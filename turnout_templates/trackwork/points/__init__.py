"""Places where routes part to points that move: tips, switches, openings, throw bars."""
