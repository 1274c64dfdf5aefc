"""The random checks with their full numbers of cases, of which the suite draws a fifth.

Among the cases are the pages of an airframe that are measured on a phone or opened in a pocket
edition, besides the longest of each kind.

Run by hand: `python -m tests.bench.full_samples`; arguments go to pytest. It takes about
five minutes on two cores.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest


def main() -> None:
    os.environ["SITEGEN_SAMPLES"] = "full"
    files = [
        str(path)
        for path in sorted(Path(__file__).parents[1].rglob("test_*.py"))
        if "tests.samples" in path.read_text(encoding="utf-8")
    ]
    sys.exit(pytest.main([*files, "-n", "auto", *sys.argv[1:]]))


if __name__ == "__main__":
    main()
