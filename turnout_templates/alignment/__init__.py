"""Spec to routes: where every reference line lies, with branches solved for their frogs."""
