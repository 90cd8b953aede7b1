"""Turn the text of a spec into validated, frozen values, or into every mistake in it with its place."""

from turnout_templates.spec.load import LocatedSpec, load_spec, read_spec
from turnout_templates.spec.writing import expanded_yaml

__all__ = ["LocatedSpec", "expanded_yaml", "load_spec", "read_spec"]
