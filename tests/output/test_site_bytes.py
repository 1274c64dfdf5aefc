"""The same catalogue gives the same bytes, whoever publishes it, where and when.

Of the demo, `test_pocket_edition.py` compares the site with a pocket edition made elsewhere.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest
import yaml

from sitegen.resources import demo_catalogue
from tests.pages.pages_sample import sample

CHECKOUT = Path(__file__).parent.parent.parent

# Publishes as the command line does. LISTING says in which order a folder gives its names, which a
# disk is free to choose.
PUBLISH = """
import os, sys

backwards = os.environ["LISTING"] == "backwards"
scandir, listdir = os.scandir, os.listdir


class Ordered:
    def __init__(self, *path):
        with scandir(*path) as entries:
            self.rest = iter(sorted(entries, key=lambda e: e.name, reverse=backwards))

    def __iter__(self):
        return self.rest

    def __next__(self):
        return next(self.rest)

    def __enter__(self):
        return self

    def __exit__(self, *error):
        pass

    close = __exit__


os.scandir = Ordered
os.listdir = lambda *path: sorted(listdir(*path), reverse=backwards)

from sitegen.cli import main

main()
"""

HERE = {
    "PYTHONHASHSEED": "1",
    "LC_ALL": "C.UTF-8",
    "PYTHONUTF8": "1",
    "TZ": "WEST12",
    "LISTING": "forwards",
}
"""How the first site is published. Its clock is 26 hours behind that of EAST-14: never one date."""

# Without the last two, Python reads and writes as UTF-8 whatever the locale says.
ASCII = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
ELSEWHERE = {**ASCII, "PYTHONHASHSEED": "2", "TZ": "EAST-14", "LISTING": "backwards"}
"""Everything that may differ, but for the language, which is English where all is ASCII."""


def start(
    catalogue: str | Path, to: Path, folder: Path, elsewhere: Mapping[str, str], how: str = "--to"
) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", PUBLISH, "publish", str(catalogue), how, str(to)],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(CHECKOUT), **HERE, **elsewhere},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )


def written(run: subprocess.Popen[str], to: Path) -> dict[str, bytes]:
    """What a run wrote: bytes by path, the list of its own files included."""
    wait_for(run)
    return {p.relative_to(to).as_posix(): p.read_bytes() for p in to.rglob("*") if p.is_file()}


def wait_for(run: subprocess.Popen[str]) -> None:
    said, _ = run.communicate(timeout=120)
    assert run.returncode == 0, said


def assert_same(one: dict[str, bytes], other: dict[str, bytes]) -> None:
    assert sorted(one) == sorted(other)
    assert [path for path in one if one[path] != other[path]] == []


def write_out(folder: Path, files: Mapping[str, str], age: int) -> Path:
    """Files in the order given, the first the oldest, changed so many seconds ago."""
    for number, (name, text) in enumerate(files.items()):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        os.utime(path, (1_700_000_000 - age + number,) * 2)
    return folder


def write_demo_s_pocket_edition(to: Path, folder: Path) -> None:
    """From the demo copied into a folder, with everything changed at once that may be."""
    demo = demo_catalogue()
    texts = {
        p.relative_to(demo).as_posix(): p.read_text(encoding="utf-8")
        for p in sorted(demo.rglob("*"), reverse=True)
        if p.is_file()
    }
    copied = write_out(folder / "copied", texts, age=9_000_000)
    wait_for(start(copied.name, to, folder, ELSEWHERE, how="--pocket"))


def sample_files() -> dict[str, str]:
    """The sample, a section a file, its equipment in three of them, with two notes."""
    catalogue = sample()
    catalogue["aircraft"]["statement"] = "An invented aircraft, ± 5 °C."
    equipment = catalogue.pop("equipment")
    parts = {section: {section: content} for section, content in catalogue.items()}
    parts |= {f"more/equipment-{k}": {"equipment": equipment[k::3]} for k in range(3)}
    files = {
        f"{name}.yaml": yaml.safe_dump(part, sort_keys=False, allow_unicode=True)
        for name, part in parts.items()
    }
    return files | {"notes/fuel.md": "# Fuel – 5 °C\n", "notes/air.md": "# Air\n\nThe left bus.\n"}


@pytest.fixture(scope="module")
def sample_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_out(tmp_path_factory.mktemp("first") / "plover", sample_files(), age=0)


@pytest.fixture(scope="module")
def first(sample_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    to = tmp_path_factory.mktemp("first") / "site"
    found = written(start(sample_folder, to, CHECKOUT, {}), to)
    assert {"early/bus-left.html", "late/note-fuel.html", "early/search.js"} <= set(found)
    return found


def test_a_site_is_the_same_from_another_folder_with_everything_changed_at_once(
    first: dict[str, bytes], tmp_path: Path
) -> None:
    """By a relative path, from files made in another order at another time."""
    backwards = dict(reversed(sample_files().items()))
    write_out(tmp_path / "copied", backwards, age=9_000_000)
    to = tmp_path / "site"
    assert_same(first, written(start("copied", to, tmp_path, ELSEWHERE), to))


def test_a_site_is_the_same_in_another_language_when_it_takes_the_place_of_another(
    first: dict[str, bytes], sample_folder: Path, tmp_path: Path
) -> None:
    to = tmp_path / "site"
    other = sample()
    other["aircraft"]["name"] = "Dunlin 2"
    old = write_out(tmp_path / "old", {"all.yaml": yaml.safe_dump(other)}, age=0)
    assert written(start(old, to, CHECKOUT, {}), to) != first
    german = {"LC_ALL": "de_DE.UTF-8", "LANGUAGE": "de"}
    assert_same(first, written(start(sample_folder, to, CHECKOUT, german), to))
