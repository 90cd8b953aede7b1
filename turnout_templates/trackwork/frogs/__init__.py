"""Crossings of faces to frogs, and rails filed at them: heads, bars fitted to each other, contacts."""
