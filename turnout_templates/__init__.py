"""Full-size construction templates for hand-laid model-railroad turnouts, from a few lines of YAML."""

__version__ = "0.1.0"
