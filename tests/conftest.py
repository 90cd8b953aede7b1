"""What all tests share: hypothesis runs the same examples every time, so that a red test is red for everybody.

Where several processes share the tests, all that ask the same sample or site run in one, which works it out once.
"""

import pytest
from hypothesis import settings

pytest.register_assert_rewrite("conformance.figures", "conformance.laws", "conformance.prototype")

settings.register_profile("steady", derandomize=True, deadline=None, database=None, max_examples=50)
settings.load_profile("steady")

SEEDS_AT_ONCE = 20
"""Seeds of specs by chance that go together."""


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Give each test the group that it runs with (pytest-xdist, `--dist loadgroup`)."""
    for item in items:
        asked = getattr(item, "callspec", None)
        group = _group(asked.params) if asked is not None else None
        if group:
            item.add_marker(pytest.mark.xdist_group(group))


def _group(params: dict[str, object]) -> str | None:
    """Return the sample, site or seeds that the parameters of a test begin with, None where they do with none."""
    for name, value in params.items():
        first = value[0] if isinstance(value, tuple) and value else value
        if isinstance(first, str) and len(first) < 100:
            return first
        if name in ("seed", "start") and isinstance(first, int):
            return f"seeds {first // SEEDS_AT_ONCE}"
    return None
