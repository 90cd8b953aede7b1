"""What is told of wing rails that find no room."""

from __future__ import annotations

from turnout_templates.pipeline import measure_text

THREE_WAY = """spec: 1
name: Three-way
units: mm
scale: N
rail: code 55
three_way: {left: {frog: 8}, right: {frog: 5.42}, stagger: 55.59, hand: right}
"""


def test_a_wing_without_room_is_left_out_and_told() -> None:
    """Where three tracks part the rail of the third stands right behind the knuckle of the first V and of the third.

    Of two wings at each of three V frogs what is not laid is told, with what is in its way and the length that it
    lacks: from the knuckle, where faces are a flangeway of 0.9 mm apart, to the practical point.
    """
    figures = measure_text(THREE_WAY)
    missing = [f for f in figures["findings"] if f["rule"] == "wing-missing"]
    laid = {wing["frog"] for wing in figures["wings"] if wing["goes_on_from"]["route"] == "right"}
    assert len(figures["wings"]) + len(missing) == 2 * sum(frog["kind"] == "V" for frog in figures["frogs"])
    assert [f["where"][:2] for f in missing] == ["F1", "F3"]
    assert "F1" not in laid
    assert all("flangeway of" in f["measured"] for f in missing)


def test_the_other_bar_carries_a_point_that_a_third_flangeway_takes() -> None:
    figures = measure_text(THREE_WAY)
    (third,) = [frog for frog in figures["frogs"] if frog["id"] == "F3"]
    carries = {filing["what"]: filing for filing in third["filing"] if filing["what"] in ("point", "spliced")}
    assert third["faces"][0]["route"] == "right"
    assert carries["point"]["face"]["route"] == "left"
    assert carries["point"]["bar"] is not None


def test_a_rail_between_two_frogs_of_a_gauntlet_is_lost() -> None:
    """It lies in the flangeway of the wide gauge's rail all along, which it crosses at either end."""
    text = "spec: 1\nname: G\nunits: mm\nscale: N\ngauges: {standard: N, narrow: Nn3}\nrail: code 55\ngauntlet: "
    text += "{spacing: 33.89, offset: 1.81, length: 100.08, frog: 8, hand: left, common_rail: right}\n"
    figures = measure_text(text)
    (lost,) = [f for f in figures["findings"] if f["rule"] == "rail-lost"]
    assert lost["level"] == "error"
    ks = sorted(frog["stations_mm"]["second"] for frog in figures["frogs"] if frog["kind"] == "K")
    assert lost["measured"] == f"its gauge face is missing from {ks[0]:.1f} mm to {ks[1]:.1f} mm"
