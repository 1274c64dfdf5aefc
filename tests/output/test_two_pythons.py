"""The oldest and the newest Python that there are publish the same bytes."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).parent.parent.parent
NEEDED = "import sys, click, gmpy2, graphviz, jinja2, markdown, nh3, pydantic, rapidfuzz, yaml"


def pythons() -> Iterator[tuple[int, str]]:
    """(minor version, program) of every Python here that has what the package needs.

    SITEGEN_PYTHONS may name more of them, as PATH names folders.
    """
    named = filter(None, os.environ.get("SITEGEN_PYTHONS", "").split(os.pathsep))
    on_path = (shutil.which(f"python3.{minor}") for minor in range(10, 20))
    for program in (sys.executable, *named, *filter(None, on_path)):
        asked = subprocess.run(
            [program, "-c", f"{NEEDED}; print(sys.version_info.minor)"],
            capture_output=True,
            text=True,
            check=False,
        )
        if asked.returncode == 0:
            yield int(asked.stdout), program


def test_the_oldest_and_the_newest_python_publish_the_same_bytes(tmp_path: Path) -> None:
    found = dict(pythons())
    if len(found) < 2:
        pytest.skip(f"only Python 3.{next(iter(found))} has what the package needs here")
    sites = []
    for minor in (min(found), max(found)):
        sites.append(tmp_path / str(minor))
        subprocess.run(
            [found[minor], "-m", "sitegen", "publish", "--to", str(sites[-1])],
            env={**os.environ, "PYTHONPATH": str(CHECKOUT)},
            check=True,
            capture_output=True,
        )
    old, new = (
        {file.relative_to(site): file.read_bytes() for file in site.rglob("*") if file.is_file()}
        for site in sites
    )
    assert old.keys() == new.keys()
    assert [str(name) for name, text in old.items() if new[name] != text] == []
