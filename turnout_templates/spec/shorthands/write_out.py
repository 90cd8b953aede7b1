"""Turn a spec's tree that has a shorthand into one that has the routes it stands for.

Every key written out points back to the key of the shorthand that it came from.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from turnout_templates import units
from turnout_templates.spec.ground import Ground
from turnout_templates.spec.shorthands.formation import Asked
from turnout_templates.spec.shorthands.lengths import measures_of
from turnout_templates.spec.shorthands.nodes import Writer
from turnout_templates.spec.shorthands.table import FORMATIONS, formation
from turnout_templates.spec.tree import Table

if TYPE_CHECKING:
    from turnout_templates.spec.forms import SpecForm


def write_out(tree: Table, form: SpecForm, ground: Ground, unit: units.Unit) -> Table:
    """Return `tree` with its formation replaced by routes, lengths in `unit`; a tree of routes is returned as it is.

    Raises InputProblems where the formation cannot be laid out.
    """
    key = next((key for key in FORMATIONS if key in tree.entries), None)
    origin = tree.table(key) if key is not None else None
    if key is None or origin is None:
        return tree
    writer = Writer(origin, unit)
    routes = formation(key).routes(Asked(getattr(form, key), measures_of(form, ground, unit), writer))
    entries = {name: node for name, node in tree.entries.items() if name not in (key, "units")}
    keys = {name: place for name, place in tree.keys.items() if name in entries}
    entries["units"] = tree.entries.get("units") or writer.node(unit)
    entries["routes"] = writer.node(routes)
    keys["units"] = keys["routes"] = tree.keys[key]
    return Table(entries, keys, tree.place, tree.path)
