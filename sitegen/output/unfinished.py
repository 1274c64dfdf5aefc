"""Unfinished output: hidden, locked while its run lives, removed by the next run if it was killed.

The lock is the system's (flock): it ends with its process however that ends, and holds between
containers that share a disk, where process numbers say nothing.
"""

from __future__ import annotations

import os
import shutil
import stat
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

try:
    import fcntl
except ImportError:  # not on Windows
    fcntl = None  # type: ignore[assignment]

STALE_SECONDS = 3600
"""Where nothing can be locked, what is older than this was left by a run that was killed."""


def unfinished_name(name: str) -> str:
    """A name for what will become `name` when it is finished."""
    return f".{name}.partial-{os.getpid()}-{time.monotonic_ns()}"


def is_unfinished(path: Path, name: str) -> bool:
    """Whether a run gave this name to an unfinished `name`."""
    prefix, numbers = f".{name}.partial-", path.name.rpartition(".partial-")[2]
    return path.name == prefix + numbers and numbers.replace("-", "", 1).isdecimal()


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Lock a file or folder; without effect where the system or the disk has no such locks."""
    descriptor = None
    with suppress(OSError, AttributeError):
        descriptor = _lock(path)
        _held.add(descriptor)
    try:
        yield
    finally:
        if descriptor is not None:
            _held.discard(descriptor)
            os.close(descriptor)


def _lock(path: Path) -> int:
    descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0))
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BaseException:
        os.close(descriptor)
        raise
    return descriptor


_held: set[int] = set()


def _close_held() -> None:
    for descriptor in _held:
        os.close(descriptor)


if hasattr(os, "register_at_fork"):
    # A process that makes pages ends some time after the one that writes them.
    os.register_at_fork(after_in_child=_close_held)


def remove_leftovers(folder: Path, name: str) -> None:
    """Remove what killed runs left of `name` in a folder, and nothing that a run is writing."""
    for leftover in folder.iterdir() if folder.is_dir() else ():
        if is_unfinished(leftover, name) and not leftover.is_symlink() and not _is_in_use(leftover):
            if leftover.is_dir():
                shutil.rmtree(leftover, ignore_errors=True)
            else:
                leftover.unlink(missing_ok=True)


def _is_in_use(path: Path) -> bool:
    try:
        os.close(_lock(path))
    except BlockingIOError:
        return True
    except (OSError, AttributeError):
        return time.time() - path.lstat().st_mtime < STALE_SECONDS
    return False


def take_after(path: Path, old: Path) -> bool:
    """Give a file or folder the owner, group and mode of another; whether it has all of them."""
    wanted = old.stat()
    for owner in (wanted.st_uid, -1):
        try:
            os.chown(path, owner, wanted.st_gid)
            break
        except (OSError, AttributeError):
            pass  # only the system's administrator gives files away
    os.chmod(path, stat.S_IMODE(wanted.st_mode))
    return _owner_and_mode(path.stat()) == _owner_and_mode(wanted)


def _owner_and_mode(status: Any) -> tuple[int, int, int]:
    return status.st_uid, status.st_gid, status.st_mode
