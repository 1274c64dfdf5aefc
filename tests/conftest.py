"""Marks by folder, `--quick`, and what is made once for all processes of a run."""

from __future__ import annotations

import fcntl
import gc
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

import pytest
from click.testing import CliRunner
from hypothesis import settings

from sitegen.cli import commands

TESTS = Path(__file__).parent
MARKS = {
    "browser": "drives a browser",
    "outside": "compares with other programs and libraries",
    "slow": "publishes whole sites or asks thousands of questions",
}
MARK_OF_FOLDER = {"browser": "browser", "outside": "outside", "output": "slow", "quiz": "slow"}

# No test fails because a machine is slow, and a run draws what the last one drew.
settings.register_profile("suite", deadline=None, derandomize=True, database=None)
settings.load_profile("suite")


def mark_of(path: Path) -> str | None:
    """The mark of the tests in a file, by its folder under tests/."""
    if not path.is_relative_to(TESTS):
        return None
    return MARK_OF_FOLDER.get(path.relative_to(TESTS).parts[0])


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--quick", action="store_true", help=f"leave out {', '.join(MARKS)}; small random samples"
    )


def pytest_configure(config: pytest.Config) -> None:
    for mark, meaning in MARKS.items():
        config.addinivalue_line("markers", f"{mark}: {meaning}")
    if config.getoption("quick"):
        os.environ["SITEGEN_SAMPLES"] = "quick"


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """With --quick the marked folders are not imported: their libraries may be missing."""
    left_out = config.getoption("quick") and collection_path != TESTS and mark_of(collection_path)
    return True if left_out else None


def pytest_collection_finish() -> None:
    """Search for unreachable cycles seldom, and not in what was imported: a fifth of all time."""
    gc.freeze()
    gc.set_threshold(100_000, 20, 100)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    for item in items:
        mark = mark_of(item.path)
        if mark:
            item.add_marker(mark)
        if "site" in getattr(item, "fixturenames", ()):
            item.add_marker("slow")
    if config.getoption("quick"):
        # Of the other folders a test may be marked as slow where it is defined.
        config.hook.pytest_deselected(items=[i for i in items if i.get_closest_marker("slow")])
        items[:] = [i for i in items if not i.get_closest_marker("slow")]


class Once(Protocol):
    """Makes a file or folder, once for all processes of a run; whoever comes later waits for it."""

    def __call__(self, name: str, make: Callable[[Path], object]) -> Path: ...


@pytest.fixture(scope="session")
def once(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Once:
    base = tmp_path_factory.getbasetemp()
    shared = base if worker_id == "master" else base.parent

    def made(name: str, make: Callable[[Path], object]) -> Path:
        target, done = shared / name, shared / f"{name}.done"
        with (shared / f"{name}.lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if not done.exists():
                shutil.rmtree(target, ignore_errors=True)
                make(target)
                done.touch()
        return target

    return made


def publish(*arguments: str) -> None:
    """`sitegen publish` with these arguments; it must succeed."""
    result = CliRunner().invoke(commands, ["publish", *arguments])
    assert result.exit_code == 0, result.output


@pytest.fixture(scope="session")
def site(once: Once) -> Path:
    """The demo's site. It is shared: a test that changes it takes a copy."""
    return once("site", lambda target: publish("--to", str(target)))
