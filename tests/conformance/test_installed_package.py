"""The tests must judge what people install."""

import os
from pathlib import Path

import pytest

import turnout_templates


@pytest.mark.skipif(os.environ.get("CI") != "true", reason="only a CI run installs the wheel first")
def test_ci_tests_the_installed_package() -> None:
    assert "site-packages" in Path(turnout_templates.__file__).parts


@pytest.mark.skipif(os.environ.get("CI") != "true", reason="only a CI run installs the wheel first")
@pytest.mark.parametrize("inside", ["py.typed", "sample_specs/01-plain-no-6.yaml", "sample_specs/two_gauge"])
def test_the_wheel_carries_more_than_code(inside: str) -> None:
    assert (Path(turnout_templates.__file__).parent / inside).exists()
