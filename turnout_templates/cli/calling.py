"""Turn how the program was called into the words that call it again, so that printed commands run as they stand."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

NAME = "turnout-templates"


def program() -> str:
    """Return what to type to call this program: its bare name where that finds it, else what was typed."""
    called = Path(sys.argv[0])
    if called.name == "__main__.py":
        return f"{_quoted(sys.orig_argv[0])} -m turnout_templates"
    if called.stem != NAME:
        return NAME
    found = shutil.which(NAME)
    same = found is not None and Path(found).resolve() == called.resolve()
    return NAME if same or len(called.parts) == 1 else _quoted(sys.argv[0])


def _quoted(text: str) -> str:
    return f'"{text}"' if " " in text else text
