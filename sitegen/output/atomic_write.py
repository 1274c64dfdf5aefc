"""Write one file, whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def atomic_write(target: Path, text: str) -> None:
    """Write a text as a file, in one step at the end.

    Raises
    ------
    OSError : there is no such folder, the target is a folder, or the file cannot be written.
    """
    place = Path(os.path.realpath(target))
    if place.is_dir():
        raise IsADirectoryError(21, "it is a folder")
    handle, name = tempfile.mkstemp(prefix=f".{place.name}.", dir=place.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
        os.chmod(name, 0o666 & ~_umask())
        os.replace(name, place)
    except BaseException:
        os.unlink(name)
        raise


def _umask() -> int:
    """The user's file mode creation mask; reading it means setting it."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
