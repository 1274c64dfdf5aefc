"""Write one file, whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

from sitegen.output.unfinished import (
    locked,
    remove_leftovers,
    take_after,
    unfinished_name,
)


def atomic_write(target: Path, text: str) -> None:
    """Write a text as a file, in one step at the end; an old file's owner, group and mode stay.

    Raises
    ------
    OSError : there is no such folder, the target is a folder, or the file cannot be written.
    """
    place = Path(os.path.realpath(target))
    if place.is_dir():
        raise IsADirectoryError(21, "it is a folder")
    partial = place.parent / unfinished_name(place.name)
    with open(partial, "x", encoding="utf-8", newline="\n") as file, locked(partial):
        try:
            remove_leftovers(place.parent, place.name)
            if place.exists():
                take_after(partial, place)
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
            file.close()
            os.replace(partial, place)
        except BaseException:
            partial.unlink(missing_ok=True)
            raise
