"""Faces to rails: where each runs, what carries it, and what lies over what."""
