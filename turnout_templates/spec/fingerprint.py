"""Turn a spec into the few characters that tell whether two sheets show the same track."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from msgspec import Struct

from turnout_templates.spec.model import Spec

QUANTUM = Fraction(1, 10**9)
"""Figures that differ by less (mm, rad, 1/mm scaled below) are the same: far below any edge that can be filed."""
CURVATURE_QUANTUM = Fraction(1, 10**15)
"""For curvatures in 1/mm, where 1e-9 would be a radius of a thousand kilometres against straight."""

_UNMEANT = frozenset({"name", "revision", "notes", "units", "text", "fingerprint", "track_standard", "offset_step"})
_UNMEANT_INSIDE = frozenset(
    {
        *("source", "width_source", "number", "max_width", "max_width_source", "standard_depth", "depth_source"),
        *("limits", "strip"),
    }
)
"""Where a figure comes from; the frog number as it was stated, which the angle says already; what the document of the
clearances says of the widest gauge, of the depth of flangeways and of tolerances; and how strip is sold: none of these
moves a rail."""


def fingerprint_of(spec: Spec) -> str:
    """Return 8 characters (base 32) of the SHA-256 of the spec's meaning.

    Name, revision, notes, units and the sources of figures are no part of it, nor is any order of keys; whatever else
    is in the Spec is.
    """
    meaning = {name: value for name, value in _said(spec) if name not in _UNMEANT}
    meaning["scale"] = spec.scale.ratio
    meaning["rail"] = (spec.rail.height, spec.rail.head, spec.rail.base)
    meaning["routes"] = {route.name: route for route in spec.routes}
    digest = hashlib.sha256(json.dumps(_plain(meaning, ""), sort_keys=True).encode()).digest()
    return base64.b32encode(digest)[:8].decode().lower()


def _said(value: Struct) -> Iterator[tuple[str, Any]]:
    """Yield name and value of each field that means something: not where a figure is from, nor what nobody spoke of.

    So that what a later version can say changes no fingerprint of a spec that does not say it.
    """
    kind = type(value)
    defaults = dict(zip(reversed(kind.__struct_fields__), reversed(kind.__struct_defaults__), strict=False))
    for name in kind.__struct_fields__:
        said = getattr(value, name)
        if name not in _UNMEANT_INSIDE and not (name in defaults and said == defaults[name]):
            yield name, said


def _plain(value: Any, name: str) -> Any:
    if isinstance(value, float):
        return round(Fraction(value) / (CURVATURE_QUANTUM if name.endswith("curvature") else QUANTUM))
    if isinstance(value, Struct):
        return {"is": type(value).__name__, **{key: _plain(inner, key) for key, inner in _said(value)}}
    if isinstance(value, tuple):
        return [_plain(item, name) for item in value]
    if hasattr(value, "items"):
        return {key: _plain(item, key) for key, item in value.items()}
    return value
