"""A progress bar on the terminal."""

from __future__ import annotations

import sys
import time
from typing import Any

import click


class Progress:
    """A progress bar that appears only when the work takes longer than a second."""

    def __init__(self, total: int, started: float) -> None:
        self.total, self.started = total, started
        self.bar: Any = None

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, *_: object) -> None:
        if self.bar is not None:
            self.bar.render_finish()

    def __call__(self, done: int) -> None:
        """Show how many files are written."""
        if self.bar is None:
            if time.monotonic() - self.started < 1 or not sys.stderr.isatty():
                return
            self.bar = click.progressbar(length=self.total, label="Writing pages", file=sys.stderr)
            self.bar.update(done - 1)
        self.bar.update(1)
