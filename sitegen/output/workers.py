"""Work on several processors at once, where the system can split a process in two."""

from __future__ import annotations

import os
import pickle
import sys
from collections.abc import Callable, Iterator, Sequence
from typing import Any, BinaryIO, TypeVar

T = TypeVar("T")


def in_workers(jobs: Sequence[Callable[[], T]], width: int) -> Iterator[T]:
    """The result of every job, in the order of the jobs, so many at once.

    Each job is done by a copy of this process (`fork`), which sees all that is worked out so far
    and needs nothing sent to it. A copy ends by itself when nobody takes its result any more.

    Raises
    ------
    What a job raises, when its turn comes.
    """
    if width < 2 or len(jobs) < 2:
        for job in jobs:
            yield job()
        return
    started: list[tuple[int, BinaryIO]] = []
    try:
        for number in range(len(jobs)):
            # One more than there are processors: a job that is done waits for its turn.
            while len(started) < len(jobs) and len(started) - number <= width:
                started.append(_start(jobs[len(started)]))
            child, pipe = started[number]
            yield _result(child, pipe)
    finally:
        for _, pipe in started:
            pipe.close()


def processors() -> int:
    """How many jobs are worth doing at once here."""
    # Elsewhere a copied process may not call the system's libraries, or cannot be made at all.
    if sys.platform != "linux":
        return 1
    return len(os.sched_getaffinity(0))


def _start(job: Callable[[], T]) -> tuple[int, BinaryIO]:
    reading, writing = os.pipe()
    child = os.fork()
    if child:
        os.close(writing)
        return child, os.fdopen(reading, "rb")
    try:
        os.close(reading)
        with os.fdopen(writing, "wb") as pipe:
            pickle.dump(_done(job), pipe, pickle.HIGHEST_PROTOCOL)
    except OSError:
        pass  # nobody listens: the other process has gone, or given up
    finally:
        os._exit(0)


def _done(job: Callable[[], T]) -> tuple[bool, T | BaseException]:
    try:
        return True, job()
    except BaseException as problem:
        return False, problem


def _result(child: int, pipe: BinaryIO) -> Any:
    try:
        well, result = pickle.load(pipe)
    except (EOFError, pickle.UnpicklingError):
        raise RuntimeError("a process that makes pages was ended from outside") from None
    finally:
        pipe.close()
        os.waitpid(child, 0)
    if not well:
        raise result
    return result
