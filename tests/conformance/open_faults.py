"""Faults that the sweeps found and that are not mended yet: by spec, how the sentences begin that tell of them.

An entry that no longer comes true fails as well, so that the list can only become shorter.
"""

from __future__ import annotations

OPEN: dict[str, tuple[str, ...]] = {}
