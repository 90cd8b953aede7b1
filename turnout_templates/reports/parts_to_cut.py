"""Turn trackwork into the parts that are cut from rail and strip: rails with their wings, guards, throw bars, ties."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from turnout_templates.reports.cut_parts import CutPart, Supply, What
from turnout_templates.reports.lengths import fine_of
from turnout_templates.trackwork.bases.base_cuts import BaseCut, cuts_by_part
from turnout_templates.trackwork.bases.materials import Material, material_of
from turnout_templates.trackwork.frogs.frog_parts import Guard
from turnout_templates.trackwork.guides.guide_edges import edge_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.lengths import left_on, longest_of
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.points.switch_parts import ThrowBar

_HEADS_SAWN = 0.5
"""What a cut takes, in widths of the rail's head: common practice, no source (0.4 mm for code 70, a fine razor saw)."""
_SAME = 1e-6
"""Strips whose widths differ by less (mm) are one."""


def kerf_of(work: Trackwork) -> float:
    """Return what a saw cut takes, in mm."""
    return _HEADS_SAWN * work.spec.rail.head


def parts_to_cut(work: Trackwork) -> tuple[CutPart, ...]:
    """Return all parts: rails in the order of their ids, guards, throw bars, ties."""
    cuts = cuts_by_part(work.base_cuts)
    return (*_rails(work, cuts), *_wings_alone(work, cuts), *_guards(work, cuts), *_throw_bars(work), *_ties(work))


def _rail(work: Trackwork) -> Supply:
    rail = work.spec.rail
    return Supply("rail", rail.name, rail.base, rail.height, longest_of(work.spec))


def _flat_strip(work: Trackwork) -> Supply:
    """Return the strip that stands in for a rail without a base, sold in the lengths of rail."""
    rail = work.spec.rail
    return Supply("flat strip", "", rail.head, rail.height, longest_of(work.spec))


def _strip(work: Trackwork, material: Literal["wood", "copper-clad"], width: float) -> Supply:
    return Supply(material, "", width, work.spec.ties.thickness, work.spec.ties.strip)


def _rails(work: Trackwork, cuts: dict[str, list[BaseCut]]) -> Iterator[CutPart]:
    """Yield the bent bars of rail, each where the first of its pieces stands."""
    pieces = {piece.id: piece for piece in work.pieces}
    wings = {wing.id for wing in work.wings}
    supply, told = _rail(work), set[str]()
    for piece in work.pieces:
        if piece.id in told:
            continue
        ids = (piece.id, *piece.bent_with)
        told.update(ids)
        ends = [end.kind for name in ids if name in pieces for end in pieces[name].ends]
        made = {name: material_of(cuts.get(name, ())) for name in ids if name in wings}
        yield CutPart("rail", ids, supply, piece.cut_length, left_on(ends, work.spec), _bases_off(made, ids))


def _wings_alone(work: Trackwork, cuts: dict[str, list[BaseCut]]) -> Iterator[CutPart]:
    """Yield the wings that no bar of rail goes on into."""
    bent = {name for piece in work.pieces for name in piece.bent_with}
    for wing in work.wings:
        if wing.id not in bent:
            yield _guide(work, "wing", {wing.id: material_of(cuts.get(wing.id, ()))}, edge_of(work, wing).length)


def _guards(work: Trackwork, cuts: dict[str, list[BaseCut]]) -> Iterator[CutPart]:
    for bent in _bent_guards(work.guards):
        made = {guard.id: material_of(cuts.get(guard.id, ())) for guard in bent}
        yield _guide(work, "guard", made, sum(edge_of(work, guard).length for guard in bent))


def _bent_guards(guards: Sequence[Guard]) -> Iterator[list[Guard]]:
    """Yield guards with those that they are one bent bar with, in order along it from the end met first."""
    by_id, told = {guard.id: guard for guard in guards}, set[str]()
    for guard in sorted(guards, key=lambda guard: len(guard.bent_at) > 1):
        bar: list[Guard] = []
        onward = [guard.id]
        while onward:
            name = onward.pop()
            if name not in told:
                told.add(name)
                bar.append(by_id[name])
                onward += [other for other, _ in by_id[name].bent_at]
        if bar:
            yield bar


def _guide(work: Trackwork, what: What, made: dict[str, Material], length: float) -> CutPart:
    """Return a guard or a wing of its own: of strip where all that is bent of it is strip, else of rail."""
    if set(made.values()) == {"strip"}:
        return CutPart(what, tuple(made), _flat_strip(work), length)
    return CutPart(what, tuple(made), _rail(work), length, 0.0, _bases_off(made, tuple(made)))


def _bases_off(made: dict[str, Material], ids: Sequence[str]) -> str:
    """Return what is filed off the bases of the guiding rails among `ids`; rail without any base does for strip."""
    sides = {"rail, base filed off on one side": "one side", "strip": "both sides"}
    filed = {name: f"base filed off on {sides[kind]}" for name, kind in made.items() if kind in sides}
    return "; ".join(words if len(ids) == 1 else f"{name}: {words}" for name, words in filed.items())


def _throw_bars(work: Trackwork) -> Iterator[CutPart]:
    widths = sorted({tie.width for tie in work.ties if tie.material == "copper-clad"})
    for switch, made in work.works():
        if made.bar is not None:
            yield _throw_bar(work, switch, made.bar, widths)


def _throw_bar(work: Trackwork, switch: Switch, bar: ThrowBar, widths: Sequence[float]) -> CutPart:
    """Return a throw bar, cut from the narrowest strip of copper-clad ties that it can be filed from."""
    width = next((wide for wide in widths if wide >= bar.width - _SAME), bar.width)
    notes = [f"file to {fine_of(work, bar.width)} wide"] if width > bar.width + _SAME else []
    hole = f"drill {fine_of(work, bar.slot.wire)} at {fine_of(work, bar.slot.along)}"
    notes.append(f"{hole} from the end away from the machine")
    if bar.gaps:
        notes.append(f"gap the copper at {' and '.join(fine_of(work, gap) for gap in bar.gaps)} from there")
    return CutPart("throw bar", (switch.id,), _strip(work, "copper-clad", width), bar.length, 0.0, "; ".join(notes))


def _ties(work: Trackwork) -> Iterator[CutPart]:
    for tie in work.ties:
        what: What = "headblock" if tie.role == "headblock" else "tie"
        yield CutPart(what, (tie.id,), _strip(work, tie.material, tie.width), tie.length)
