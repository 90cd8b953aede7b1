"""Exact plane curves: pieces of linear curvature, paths of pieces, their parallels, and where two of them cross."""
