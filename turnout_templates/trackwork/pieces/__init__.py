"""Bars to pieces with joints and gaps, and what is done to each."""
