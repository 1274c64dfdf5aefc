"""Runs the circuit simulator `ngspice` (https://ngspice.sourceforge.io) on a deck."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest


def operating_point(
    lines: list[str], diode: str, shown: str, folder: Path
) -> list[tuple[str, float]]:
    """What ngspice shows at the operating point of a circuit.

    Parameters
    ----------
    lines : the circuit.
    diode : the parameters of the model `ideal`.
    shown : which names to read, as a regular expression with one group.
    folder : for the deck.
    """
    program = shutil.which("ngspice")
    if program is None:
        pytest.fail("ngspice is not installed. Install it (Debian: apt-get install ngspice).")
    deck = folder / "nets.cir"
    deck.write_text("\n".join(["nets", f".model ideal d({diode})", *lines, ".op", ".end", ""]))
    ran = subprocess.run(
        [program, "-b", str(deck)], capture_output=True, text=True, timeout=120, check=False
    )
    table = re.findall(rf"^\s*{shown}\s+(-?\d\S*)\s*$", ran.stdout, re.MULTILINE)
    assert table, ran.stdout[-2000:] + ran.stderr[-2000:]
    return [(name, float(figure)) for name, figure in table]
