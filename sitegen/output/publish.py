"""Put a site's files in place: all of them, or none.

A site is written whole into a folder beside the old one and takes its place in one step, so a run
that fails or is killed leaves the old site as it was. What publish did not make, it does not touch:
a site carries a list of its own files, and a folder without one, or with other files in it, is
refused.
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
"""The one file besides that may stand in the folder; it is carried over."""

STALE_SECONDS = 3600
"""Half-written folders older than this were left by a run that was killed."""


More = Callable[[Path], Iterable[tuple[str, str | bytes]]]
"""From the folder of the files that are written to further (path, content)."""


class PublishRefused(Exception):
    """The target is not a folder that publish may replace; the message says why."""


def put_in_place(
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
    progress : told after each file how many are written.
    more : makes further files from those, given the folder in which they stand for now.

    Returns
    -------
    How many files were written.

    Raises
    ------
    PublishRefused : when the folder holds anything that publish did not make.
    OSError : when the disk refuses.
    """
    target = Path(os.path.realpath(target))
    _refuse_what_is_not_ours(target)
    target.parent.mkdir(parents=True, exist_ok=True)
    _sweep(target)
    fresh = target.parent / f".{target.name}.partial-{os.getpid()}-{time.monotonic_ns()}"
    fresh.mkdir()
    try:
        written = _write(fresh, files, progress, more)
        if (target / KEPT).is_file():
            shutil.copyfile(target / KEPT, fresh / KEPT)
        _refuse_what_is_not_ours(target)
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

    def every() -> Iterator[tuple[str, str | bytes]]:
        yield from files
        yield from more(folder)

    for path, content in every():
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


def _refuse_what_is_not_ours(target: Path) -> None:
    if not target.exists():
        return
    if not target.is_dir():
        raise PublishRefused(f"{target} is a file, not a folder. Name another folder with --to.")
    ours: set[str] = {LIST, KEPT}
    listed = target / LIST
    if listed.is_file():
        ours.update(listed.read_text(encoding="utf-8", errors="replace").splitlines())
    for folder, _, names in os.walk(target):
        for name in names:
            path = (Path(folder) / name).relative_to(target).as_posix()
            if path not in ours:
                raise PublishRefused(
                    f"{target} holds {path}, which publish did not make, and would replace."
                    " Move it away, or name another folder with --to."
                )


def _sweep(target: Path) -> None:
    """Remove what killed runs have left half-written."""
    for leftover in target.parent.glob(f".{target.name}.partial-*"):
        if time.time() - leftover.stat().st_mtime > STALE_SECONDS:
            shutil.rmtree(leftover, ignore_errors=True)


def _swap(fresh: Path, target: Path) -> None:
    """Let two folders change names; on Linux in one step of the kernel."""
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
    """Swap two names atomically where the C library can (renameat2); says whether it did."""
    at_working_folder, exchange = -100, 2
    try:
        renameat2 = ctypes.CDLL(None, use_errno=True).renameat2
    except (AttributeError, OSError, TypeError):
        return False
    done = renameat2(
        at_working_folder, os.fsencode(one), at_working_folder, os.fsencode(other), exchange
    )
    return bool(done == 0)
