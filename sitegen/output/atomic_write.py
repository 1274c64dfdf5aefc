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


def atomic_write(target: Path, content: str | bytes) -> None:
    """Write a file in one step at the end; an old file's owner, group and mode stay.

    Raises
    ------
    OSError : there is no such folder, the target is a folder, or the file cannot be written.
    """
    place = Path(os.path.realpath(target))
    if place.is_dir():
        raise IsADirectoryError(21, "it is a folder")
    partial = place.parent / unfinished_name(place.name)
    data = content.encode("utf-8") if isinstance(content, str) else content
    with open(partial, "xb") as file, locked(partial):
        try:
            remove_leftovers(place.parent, place.name)
            if place.exists():
                take_after(partial, place)
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
            file.close()
            os.replace(partial, place)
        except BaseException:
            partial.unlink(missing_ok=True)
            raise
