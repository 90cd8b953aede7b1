"""Turn a located spec into the text of one that means the same, with bases and shorthand written out."""

from __future__ import annotations

import re

from turnout_templates.spec.load import LocatedSpec
from turnout_templates.spec.tree import Listing, Node, Scalar, Table

_WIDEST = 100
_INLINE_DEPTH = 3
_PLAIN = re.compile(r"(?:-(?=[0-9.]))?[A-Za-z0-9.][A-Za-z0-9 ./'()+_:-]*")
_ORDER = (
    "spec", "name", "revision", "notes", "units", "scale", "gauges", "track_standard", "rail",
    "ties", "tip", "frog_point", "throw", "longest_rail", "offset_step", "routes",
)  # fmt: skip
_ROUTE_ORDER = (
    "start", "leaves", "at", "hand", "joins", "facing", "gauges", "common_rail", "bend", "widening", "points", "path",
)  # fmt: skip


def expanded_yaml(located: LocatedSpec) -> str:
    """Return the spec as one file in the form of routes, values as they were written; it has the same fingerprint."""
    entries = {key: node for key, node in located.positions.entries.items() if key != "base"}
    if "units" not in entries:
        entries["units"] = Scalar(located.spec.units, True, located.positions.place)
    lines: list[str] = []
    for key in sorted(entries, key=_ORDER.index):
        _write(key, entries[key], "", lines)
    return "\n".join(lines) + "\n"


def _write(key: str, node: Node, indent: str, lines: list[str]) -> None:
    inline = _inline(node)
    head = f"{indent}{_scalar(key)}:"
    if key not in ("routes", "path") and len(head) + len(inline) < _WIDEST and _depth(node) < _INLINE_DEPTH:
        lines.append(f"{head} {inline}")
    elif isinstance(node, Table):
        lines.append(head)
        for name in _in_order(node):
            _write(name, node.entries[name], indent + "  ", lines)
    elif isinstance(node, Listing):
        lines.append(head)
        lines.extend(f"{indent}  - {_piece(item)}" for item in node.items)
    else:
        lines.append(f"{head} {inline}")


def _in_order(node: Table) -> list[str]:
    known = {key: index for index, key in enumerate(_ROUTE_ORDER)}
    is_route = "path" in node.entries
    return sorted(node.entries, key=lambda key: known.get(key, len(known))) if is_route else list(node.entries)


def _piece(node: Node) -> str:
    if isinstance(node, Table) and len(node.entries) == 1:
        key, value = next(iter(node.entries.items()))
        return f"{_scalar(key)}: {_inline(value)}"
    return _inline(node)


def _inline(node: Node) -> str:
    if isinstance(node, Table):
        return "{" + ", ".join(f"{_scalar(key)}: {_inline(child)}" for key, child in node.entries.items()) + "}"
    if isinstance(node, Listing):
        return "[" + ", ".join(_inline(item) for item in node.items) + "]"
    return _scalar(node.text) if not node.is_nothing else '""'


def _depth(node: Node) -> int:
    children = node.entries.values() if isinstance(node, Table) else node.items if isinstance(node, Listing) else ()
    return 1 + max((_depth(child) for child in children), default=0)


def _scalar(text: str) -> str:
    """Return `text` as it can stand in any place of the file: bare where that is safe, else in double quotes."""
    if _PLAIN.fullmatch(text) and ": " not in text and not text.endswith((":", " ")) and text not in ("null", "Null"):
        return text
    escaped = "".join(_ESCAPES.get(mark) or (mark if mark.isprintable() else f"\\U{ord(mark):08x}") for mark in text)
    return f'"{escaped}"'


_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t"}
