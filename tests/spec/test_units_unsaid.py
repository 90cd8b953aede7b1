"""Which unit a spec is printed in, and so on which paper, when it says none."""

import pytest
from spec.texts import PLAIN

from turnout_templates.spec import read_spec


@pytest.mark.parametrize(
    ("scale", "more", "unit"),
    [
        ("HO", "", "in"),
        ("N", "", "in"),
        ("H0", "", "mm"),
        ("1:87", "", "mm"),
        ("HO", "units: mm", "mm"),
        ("N", "track_standard: NEM 110", "mm"),
        ("HO", "throw: 1.6 mm", "mm"),
        ("H0", "throw: 1/16 in", "in"),
    ],
)
def test_the_unit_unsaid(scale: str, more: str, unit: str) -> None:
    text = f"{PLAIN.replace('scale: HO', f'scale: {scale}')}{more}\n"
    assert read_spec(text, file="a.yaml", folder=None).spec.units == unit
