"""Trackwork and findings to the drawing: the one place that decides what a part looks like."""
