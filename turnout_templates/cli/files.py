"""Put finished files in place: written beside and renamed, so that a failure leaves what was there.

Then sheets of an earlier draw that needed more of them can be cleared away, lest they are printed with the new ones.
"""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path

from turnout_templates.errors import OutputError


def put_in_place(folder: Path, files: Sequence[tuple[str, bytes]]) -> list[Path]:
    """Write `files` (name, content) into `folder` and return their paths.

    All are written beside their places first and renamed only when all are complete. Raises OutputError, which says
    which file could not be written and why.
    """
    written: list[tuple[Path, Path]] = []
    target = folder
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in files:
            target = folder / name
            beside = folder / f".{name}.{os.getpid()}.part"
            written.append((beside, target))
            beside.write_bytes(content)
        for beside, target in written:
            os.replace(beside, target)
    except OSError as error:
        _clear(folder, written)
        raise OutputError(str(target), error.strerror or str(error)) from error
    except KeyboardInterrupt:
        _clear(folder, written)
        raise
    return [target for _, target in written]


def _clear(folder: Path, written: Sequence[tuple[Path, Path]]) -> None:
    if folder.is_dir():
        for beside, _ in written:
            beside.unlink(missing_ok=True)


_TITLE_WITHIN = 4096
"""Bytes at the head of a sheet's SVG among which its title stands (ours: far more than a name takes)."""


def clear_old_sheets(folder: Path, stem: str, written: Sequence[Path]) -> tuple[list[Path], list[tuple[Path, str]]]:
    """Remove the sheets of the spec called `stem` that are not among those just `written`.

    Only files named as `draw` names sheets of that spec, and titled as it titles them, are removed. Returns what was
    removed, and what could not be with the reason why.
    """
    name = re.compile(re.escape(stem) + r"-(sheet|underside)-(0[1-9]|[1-9][0-9]+)\.svg")
    kept = {path.name for path in written}
    removed, failed = [], []
    for path in sorted(folder.iterdir()):
        found = name.fullmatch(path.name)
        if found is None or path.name in kept:
            continue
        try:
            if path.is_file() and _is_sheet(path, found[1].capitalize(), int(found[2])):
                path.unlink()
                removed.append(path)
        except OSError as error:
            failed.append((path, error.strerror or str(error)))
    return removed, failed


def _is_sheet(path: Path, kind: str, number: int) -> bool:
    """Tell whether a file is that sheet or underside; it may be the whole drawing of a spec that is called so."""
    with path.open("rb") as file:
        return f": {kind} {number}</title>".encode() in file.read(_TITLE_WITHIN)
