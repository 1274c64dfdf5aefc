"""Write a site's files: all of them, or none.

A site is written into a folder beside the old one and replaces it in one step, so a run that fails
or is killed leaves the old site as it was. What publish did not write, it does not touch: a site
has a list of its own files, and a folder without one, or with other files in it, is refused.
"""

from __future__ import annotations

import ctypes
import os
import shutil
import time
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

LIST = ".made-by-sitegen"
"""The file in a site that lists what publish wrote."""

KEPT = ".gitignore"
"""The one other file that may be in the folder; it is kept."""

STALE_SECONDS = 3600
"""Half-written folders older than this were left by a run that was killed."""

More = Callable[[Path], Iterable[tuple[str, str | bytes]]]
"""From the folder with the written files to further files: (path, content)."""


class PublishRefused(Exception):
    """The target is not a folder that publish may replace; the message says why."""


def write_site(
    target: Path,
    files: Iterable[tuple[str, str | bytes]],
    progress: Callable[[int], None] = lambda done: None,
    more: More = lambda folder: (),
) -> int:
    """Write files as the whole content of a folder, in one step at the end.

    Parameters
    ----------
    target : the site's folder; made, with its parents, if it is not there.
    files : (path below the folder, content); text is written as UTF-8.
    progress : called after each file with how many are written.
    more : makes further files from the written ones; its argument is the folder that has them.

    Returns
    -------
    How many files were written.

    Raises
    ------
    PublishRefused : the folder has a file that publish did not write.
    OSError : a file cannot be written.
    """
    target = Path(os.path.realpath(target))
    _refuse_other_files(target)
    target.parent.mkdir(parents=True, exist_ok=True)
    _remove_leftovers(target)
    fresh = target.parent / f".{target.name}.partial-{os.getpid()}-{time.monotonic_ns()}"
    fresh.mkdir()
    try:
        written = _write(fresh, files, progress, more)
        if (target / KEPT).is_file():
            shutil.copyfile(target / KEPT, fresh / KEPT)
        _refuse_other_files(target)
        _swap(fresh, target)
    finally:
        # After the swap this is the old site; after a failure, the half-written new one.
        shutil.rmtree(fresh, ignore_errors=True)
    return written


def _write(
    folder: Path,
    files: Iterable[tuple[str, str | bytes]],
    progress: Callable[[int], None],
    more: More,
) -> int:
    names = []
    made = {folder}

    def all_files() -> Iterator[tuple[str, str | bytes]]:
        yield from files
        yield from more(folder)

    for path, content in all_files():
        place = folder / path
        if place.parent not in made:
            place.parent.mkdir(parents=True, exist_ok=True)
            made.add(place.parent)
        data = content.encode() if isinstance(content, str) else content
        with open(place, "xb") as file:
            file.write(data)
        names.append(path)
        progress(len(names))
    (folder / LIST).write_text("".join(f"{name}\n" for name in sorted(names)), encoding="utf-8")
    return len(names)


def _refuse_other_files(target: Path) -> None:
    if not target.exists():
        return
    if not target.is_dir():
        raise PublishRefused(f"{target} is a file, not a folder. Name another folder with --to.")
    ours: set[str] = {LIST, KEPT}
    file_list = target / LIST
    if file_list.is_file():
        ours.update(file_list.read_text(encoding="utf-8", errors="replace").splitlines())
    for folder, _, names in os.walk(target):
        for name in names:
            path = (Path(folder) / name).relative_to(target).as_posix()
            if path not in ours:
                raise PublishRefused(
                    f"{target} holds {path}, which publish did not make, and would replace."
                    " Move it away, or name another folder with --to."
                )


def _remove_leftovers(target: Path) -> None:
    """Remove the half-written folders of killed runs."""
    for leftover in target.parent.glob(f".{target.name}.partial-*"):
        if time.time() - leftover.stat().st_mtime > STALE_SECONDS:
            shutil.rmtree(leftover, ignore_errors=True)


def _swap(fresh: Path, target: Path) -> None:
    """Exchange the names of two folders; on Linux in one system call."""
    if not target.exists():
        fresh.rename(target)
        return
    if _exchange(fresh, target):
        return
    aside = target.parent / f"{fresh.name}-old"
    target.rename(aside)
    try:
        fresh.rename(target)
    except OSError:
        aside.rename(target)
        raise
    aside.rename(fresh)


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two names atomically where the C library can (renameat2); whether it did."""
    at_working_folder, exchange = -100, 2
    try:
        renameat2 = ctypes.CDLL(None, use_errno=True).renameat2
    except (AttributeError, OSError, TypeError):
        return False
    done = renameat2(
        at_working_folder, os.fsencode(one), at_working_folder, os.fsencode(other), exchange
    )
    return bool(done == 0)
