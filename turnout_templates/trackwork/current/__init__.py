"""Pieces and copper to sections, gaps in copper, feeders, and what conducts to what."""
