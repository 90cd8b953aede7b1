"""Trackwork held against the standard: one rule a function, each yielding findings with measure, limit and source."""
