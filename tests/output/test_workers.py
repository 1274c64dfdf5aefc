"""Jobs run at once give the same results as one after another."""

from __future__ import annotations

import os
import sys
import time
from functools import partial

import pytest

from sitegen.output.site import build_site
from sitegen.output.workers import in_workers
from tests.pages.pages_sample import reading, sample

# Elsewhere the jobs run one after another, whatever the width.
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="processes fork on Linux only")


def who(number: int) -> tuple[int, int]:
    return number, os.getpid()


def fails() -> tuple[int, int]:
    raise ValueError("no such page")


def killed() -> tuple[int, int]:
    os.kill(os.getpid(), 9)
    raise AssertionError


def test_results_come_in_the_order_of_the_jobs_each_from_a_process_of_its_own() -> None:
    results = list(in_workers([partial(who, n) for n in range(7)], 2))
    assert [number for number, _ in results] == list(range(7))
    assert len({process for _, process in results} - {os.getpid()}) == 7


def test_on_one_processor_no_process_is_forked() -> None:
    assert {process for _, process in in_workers([partial(who, 1)] * 3, 1)} == {os.getpid()}


def test_what_a_job_raises_is_raised_when_its_turn_comes() -> None:
    results = in_workers([partial(who, 1), fails, partial(who, 2)], 2)
    assert next(results)[0] == 1
    with pytest.raises(ValueError, match="no such page"):
        next(results)


def test_a_process_that_is_killed_is_an_error_and_not_a_missing_page() -> None:
    with pytest.raises(RuntimeError, match="was killed"):
        list(in_workers([killed, partial(who, 1)], 2))


def test_results_that_are_not_taken_keep_no_process_waiting(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    made: list[int] = []
    fork = os.fork

    def recorded() -> int:
        made.append(fork())
        return made[-1]

    monkeypatch.setattr(os, "fork", recorded)
    results = in_workers([partial(bytes, 1 << 20)] * 4, 2)
    next(results)
    results.close()
    deadline = time.monotonic() + 10
    for process in made[1:]:
        while os.waitpid(process, os.WNOHANG) == (0, 0):
            assert time.monotonic() < deadline
            time.sleep(0.01)


def test_a_site_made_by_several_processes_is_the_same() -> None:
    alone = dict(build_site(reading(sample())).files)
    # With more processors than airframes the pages of an airframe are divided.
    for width in (2, 5):
        assert dict(build_site(reading(sample()), width=width).files) == alone
