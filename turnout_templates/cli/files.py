"""Put finished files in place: written beside and renamed, so that a failure leaves what was there."""

from __future__ import annotations

import os
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
