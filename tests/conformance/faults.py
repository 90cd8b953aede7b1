"""All that is asked of the metal of a spec, but for bases, which cost as much as all the rest (see `bases`)."""

from __future__ import annotations

from collections.abc import Iterator

from . import measures, sweeps
from .metal import Metal


def faults(metal: Metal) -> Iterator[str]:
    """Yield all that is wrong with the metal of a spec."""
    yield from sweeps.heads_on_heads(metal)
    yield from sweeps.contacts_that_do_not_touch(metal)
    yield from sweeps.metal_in_flangeways(metal)
    yield from sweeps.wheels_that_drop(metal)
    yield from measures.lengths_that_differ(metal)
    yield from measures.bars_that_overlap_on_a_face(metal)
    yield from measures.ties_on_ties(metal.figures)
    yield from measures.places_without_tie(metal)
