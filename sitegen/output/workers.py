"""Jobs on several processors at once, in forks of this process.

`concurrent.futures.ProcessPoolExecutor` was tried in place of the forks made here. Its workers take
one job after another, and so keep what earlier jobs computed: half as much memory again. They also
wait for ever when this process is killed. `multiprocessing.Process` with a pipe has neither fault,
but copies each result once more (a third more memory) and is no shorter.
"""

from __future__ import annotations

import os
import pickle
import sys
from collections.abc import Callable, Iterator, Sequence
from typing import Any, BinaryIO, TypeVar

T = TypeVar("T")


def in_workers(jobs: Sequence[Callable[[], T]], width: int) -> Iterator[T]:
    """The result of every job, in the order of the jobs, `width` of them at once.

    Each job runs in a fork of this process, which has everything computed so far: nothing is sent
    to it. A fork whose result is no longer wanted ends by itself.

    Raises
    ------
    What a job raises, when its turn comes.
    """
    if width < 2 or len(jobs) < 2:
        for job in jobs:
            yield job()
        return
    workers: list[tuple[int, BinaryIO]] = []
    try:
        for number in range(len(jobs)):
            # One more than `width`: a job that is done waits for its turn.
            while len(workers) < len(jobs) and len(workers) - number <= width:
                workers.append(_start(jobs[len(workers)]))
            yield _result(*workers[number])
    finally:
        for _, pipe in workers:
            pipe.close()


def processors() -> int:
    """How many jobs are worth running at once on this machine."""
    # Elsewhere a forked process may not call the system's libraries, or cannot be made at all.
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
            pickle.dump(_outcome(job), pipe, pickle.HIGHEST_PROTOCOL)
    except OSError:
        pass  # the result is no longer wanted, or the parent process has ended
    finally:
        os._exit(0)


def _outcome(job: Callable[[], T]) -> tuple[bool, T | BaseException]:
    try:
        return True, job()
    except BaseException as error:
        return False, error


def _result(child: int, pipe: BinaryIO) -> Any:
    try:
        succeeded, result = pickle.load(pipe)
    except (EOFError, pickle.UnpicklingError):
        raise RuntimeError("a process that makes pages was killed") from None
    finally:
        pipe.close()
        os.waitpid(child, 0)
    if not succeeded:
        raise result
    return result
