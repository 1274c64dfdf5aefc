"""Write a site's files: all of them, or none.

A site is written into a hidden folder and takes the old one's place at the end, so a run that fails
or is killed leaves the old site as it was. It does so in one of two ways:

- The folders exchange their names, in one call of the system.
- File by file, in the old folder: where it cannot be renamed (a mount point, a parent folder that
  may not be written), where it should not be (a shell or a web server is in it, its owner cannot be
  kept), or where it has a folder or link that publish did not make. A run that is killed just then
  leaves files of both sites; the next one replaces them all.

What publish did not write, it does not touch: a site has a list of its own files, and a folder
without one, or with other files in it, is refused.
"""

from __future__ import annotations

import ctypes
import os
import shutil
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import suppress
from functools import cache
from pathlib import Path, PurePosixPath
from typing import Any

from sitegen.output.atomic_write import atomic_write
from sitegen.output.unfinished import (
    is_unfinished,
    locked,
    remove_leftovers,
    take_after,
    unfinished_name,
)

LIST = ".made-by-sitegen"
"""The file in a site that lists what publish wrote."""

KEPT = ".gitignore"
"""The one other file that may be in the folder; it is kept."""

INSIDE = "sitegen"
"""What an unfinished site is named after in the folder of the old one."""

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
    """Write files as the whole content of a folder, at once at the end.

    Parameters
    ----------
    target : the site's folder; made, with its parents, if it is not there. If it is, its owner,
        group and mode stay.
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
    _remove_leftovers(target)
    _site_files(target)
    target.parent.mkdir(parents=True, exist_ok=True)
    fresh = _new_folder(target)
    with locked(fresh):
        try:
            same_owner = not target.exists() or take_after(fresh, target)
            names = _write(fresh, files, progress, more)
            _flush(fresh)
            old, others = _site_files(target, names)
            _swap(fresh, target, old, names, whole=same_owner and not others)
        finally:
            # After an exchange this is the old site; after a failure, the half-written new one.
            shutil.rmtree(fresh, ignore_errors=True)
    return len(names)


def _remove_leftovers(target: Path) -> None:
    remove_leftovers(target.parent, target.name)
    remove_leftovers(target, INSIDE)
    remove_leftovers(target, LIST)


def _new_folder(target: Path) -> Path:
    """An empty folder beside the target if the two can exchange their names, else in it."""
    beside = target.parent / unfinished_name(target.name)
    if not target.exists():
        beside.mkdir()
        return beside
    inside = target / unfinished_name(INSIDE)
    inside.mkdir()
    try:
        return inside.rename(beside)
    except OSError:
        return inside


def _write(
    folder: Path,
    files: Iterable[tuple[str, str | bytes]],
    progress: Callable[[int], None],
    more: More,
) -> list[str]:
    """Write all files and their list; their names."""
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
    return names


def _site_files(target: Path, new: Collection[str] = ()) -> tuple[set[str], bool]:
    """What publish wrote into a folder, and whether it has other folders or links.

    Parameters
    ----------
    new : what it will write there now.

    Raises
    ------
    PublishRefused : it is a file, has a file of somebody else's, or a link or folder where publish
        writes.
    """
    if target.exists() and not target.is_dir():
        raise PublishRefused(f"{target} is a file, not a folder. Name another folder with --to.")
    ours: set[str] = {LIST, KEPT}
    file_list = target / LIST
    if file_list.is_file():
        ours.update(file_list.read_text(encoding="utf-8", errors="replace").splitlines())
    folders = _folders(ours)
    written, others = set(), False
    for folder, subfolders, names in os.walk(target):
        inside = PurePosixPath(Path(folder).relative_to(target).as_posix())
        for name in names:
            path = str(inside / name)
            if path not in ours:
                raise _refusal(target, path, "which publish did not make, and would replace")
            if path != KEPT:
                written.add(path)
        for name in (*names, *subfolders):
            path = str(inside / name)
            is_link = os.path.islink(target / path)
            if is_link and path != KEPT and path in ours | folders | _folders(new):
                raise _refusal(target, path, "a link, where publish writes")
            others |= is_link or (name in subfolders and path not in folders)
        if folder == str(target):
            subfolders[:] = [n for n in subfolders if not is_unfinished(Path(n), INSIDE)]
    return written, others


def _refusal(target: Path, path: str, why: str) -> PublishRefused:
    return PublishRefused(
        f"{target} holds {path}, {why}. Move it away, or name another folder with --to."
    )


def _folders(paths: Iterable[str]) -> set[str]:
    """The folders of files, and those that these are in."""
    return {str(folder) for path in paths for folder in PurePosixPath(path).parents}


def _swap(
    fresh: Path, target: Path, old: Collection[str], new: Collection[str], whole: bool
) -> None:
    """Replace the old site by the new one."""
    if not target.exists():
        fresh.rename(target)
        return
    if whole and not _is_current_folder(target):
        if (target / KEPT).is_file():
            shutil.copyfile(target / KEPT, fresh / KEPT)
        if _exchange(fresh, target):
            return
        (fresh / KEPT).unlink(missing_ok=True)
    undo: list[Callable[[], object]] = []
    try:
        _swap_files(fresh, target, old, new, undo)
    except BaseException:
        for step in reversed(undo):
            step()
        raise


def _swap_files(
    fresh: Path,
    target: Path,
    old: Collection[str],
    new: Collection[str],
    undo: list[Callable[[], object]],
) -> None:
    """Exchange the files of two sites, whose folders stay; each step adds what takes it back."""
    aside = fresh / unfinished_name(INSIDE)

    def move(path: str, source: Path, to: Path) -> None:
        for folder in reversed(PurePosixPath(path).parents):
            if not (to / folder).is_dir():
                (to / folder).mkdir()
                undo.append((to / folder).rmdir)
        (source / path).rename(to / path)
        undo.append(lambda: (to / path).rename(source / path))

    # Until the end the list has the files of both sites: all are ours if the run is killed.
    file_list = target / LIST
    before = file_list.read_text(encoding="utf-8") if LIST in old else None
    atomic_write(file_list, "".join(f"{name}\n" for name in sorted({*old, *new})))
    undo.append(lambda: _restore(file_list, before))
    for path in sorted({*old} - {*new, LIST}):
        move(path, target, aside)
    for folder in sorted(_folders(old) - _folders(new), reverse=True):
        if not any((target / folder).iterdir()):
            (target / folder).rmdir()
            undo.append((target / folder).mkdir)
    for path in sorted(new):
        if path in old and _exchange(fresh / path, target / path):
            undo.append(lambda path=path: _exchange(fresh / path, target / path))  # type: ignore[misc]
            continue
        if path in old:
            move(path, target, aside)
        move(path, fresh, target)
    os.replace(fresh / LIST, file_list)


def _restore(file_list: Path, text: str | None) -> None:
    if text is None:
        file_list.unlink(missing_ok=True)
    else:
        atomic_write(file_list, text)


def _is_current_folder(folder: Path) -> bool:
    """Whether it, or a folder in it, is a process's current one; on Linux, any process's."""
    places = []
    with suppress(OSError):  # it was removed
        places.append(os.getcwd())
    for link in Path("/proc").glob("[0-9]*/cwd"):
        with suppress(OSError):  # it has ended, or is another user's
            places.append(os.readlink(link))
    return any(folder in (Path(place), *Path(place).parents) for place in places)


@cache
def _system() -> Any:
    """The C library, where this can be had."""
    try:
        return ctypes.CDLL(None, use_errno=True)
    except (OSError, TypeError):
        return None


def _flush(folder: Path) -> None:
    """Write everything to the disk, so that a power failure does not leave a site of empty files.

    One call for all files (syncfs): a call each takes 5 to 9 s for a thousand.
    """
    if hasattr(_system(), "syncfs"):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            if _system().syncfs(descriptor):
                raise OSError(ctypes.get_errno(), os.strerror(ctypes.get_errno()))
        finally:
            os.close(descriptor)
    elif hasattr(os, "sync"):
        os.sync()


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two names at once where the system can (renameat2); whether it did."""
    at_working_folder, exchange = -100, 2
    if not hasattr(_system(), "renameat2"):
        return False
    done = _system().renameat2(
        at_working_folder, os.fsencode(one), at_working_folder, os.fsencode(other), exchange
    )
    return bool(done == 0)
