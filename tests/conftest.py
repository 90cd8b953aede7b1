"""What all tests share: hypothesis runs the same examples every time, so that a red test is red for everybody."""

import pytest
from hypothesis import settings

pytest.register_assert_rewrite("conformance.figures", "conformance.laws", "conformance.prototype")

settings.register_profile("steady", derandomize=True, deadline=None, database=None, max_examples=50)
settings.load_profile("steady")
