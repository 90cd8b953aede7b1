"""Turn a scale into what a spec leaves unsaid: ties, filed tip and frog point, each with how it is known."""

from __future__ import annotations

from fractions import Fraction

from msgspec import Struct

from turnout_templates.standards.tables import read_table
from turnout_templates.units import MM_PER_INCH


class TiePractice(Struct, frozen=True):
    """Ties as they are laid, in mm at the scale asked for; `source` says how the prototype sizes are known."""

    width: Fraction
    thickness: Fraction
    switch_width: Fraction
    spacing: Fraction
    switch_spacing: Fraction
    overhang: Fraction
    headblock_overhang: Fraction
    length_step: Fraction
    source: str


def tie_practice(ratio: Fraction, widest_gauge: Fraction) -> TiePractice:
    """Return the ties for track whose widest gauge is `widest_gauge` mm at 1:`ratio`.

    Track wholly of narrow gauge (under 50 in full size) takes the narrow gauge's ties.
    """
    head = read_table("practice").head
    full_gauge = widest_gauge * ratio / MM_PER_INCH
    row = min(
        (entry for entry in head["ties"] if full_gauge < entry["prototype_gauge_to"]),
        key=lambda entry: Fraction(entry["prototype_gauge_to"]),
        default=head["ties"][0],
    )
    by = MM_PER_INCH / ratio
    extra, step = head["headblock_extra"], head["tie_length_step"]
    return TiePractice(
        row["width"] * by,
        row["thickness"] * by,
        row["switch_width"] * by,
        row["spacing"] * by,
        row["switch_spacing"] * by,
        (row["length"] - row["gauge"]) / 2 * by,
        extra["value"] * by,
        step["value"] * by,
        f"{row['known']}; {extra['known']}; {step['known']}; divided by the scale",
    )


def filed_tip() -> Fraction:
    """Return how far apart the faces are where a filed point's edge begins, in mm: common practice, no source."""
    tip: Fraction = read_table("practice").head["filed_tip_mm"]["value"]
    return tip


def frog_point(ratio: Fraction) -> Fraction:
    """Return how wide a frog's practical point is in mm at 1:`ratio`: 1/2 in full size, from memory."""
    full: Fraction = read_table("practice").head["frog_point"]["value"]
    return full * MM_PER_INCH / ratio
