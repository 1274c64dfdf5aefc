"""A real Chromium, and the demo's site published once for all browser tests."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from playwright.sync_api import Browser, sync_playwright

from sitegen.cli import commands

PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 800}


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    target = tmp_path_factory.mktemp("published") / "site"
    result = CliRunner().invoke(commands, ["publish", "--to", str(target)])
    assert result.exit_code == 0, result.output
    return target


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    chromium = (
        os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("google-chrome")
    )
    if not chromium:
        pytest.fail("no Chromium on this machine: tests/run installs it, or name it with CHROMIUM")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(
            executable_path=chromium,
            args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"],
        )
        yield started
        started.close()
