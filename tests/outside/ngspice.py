"""Runs the circuit simulator `ngspice` (https://ngspice.sourceforge.io) on a deck."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Iterable
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
    return _shown([f".model ideal d({diode})", *lines, ".op"], rf"{shown}\s+", folder)


def volts_at_the_end(
    lines: list[str], diode: str, nodes: Iterable[str], end: str, folder: Path
) -> dict[str, float]:
    """The volts that ngspice finds at these nodes when a transient ends.

    Parameters
    ----------
    lines, diode, folder : as above.
    end : when, with its unit: `1m` is a thousandth of a second.
    """
    measures = [f".meas tran {node} find v({node}) at={end}" for node in nodes]
    deck = [f".model ideal d({diode})", *lines, f".tran 10u {end}", *measures]
    return dict(_shown(deck, r"([a-z]\w*)\s*=\s*", folder))


def _shown(deck: list[str], shown: str, folder: Path) -> list[tuple[str, float]]:
    program = shutil.which("ngspice")
    if program is None:
        pytest.fail("ngspice is not installed. Install it (Debian: apt-get install ngspice).")
    written = folder / "nets.cir"
    written.write_text("\n".join(["nets", *deck, ".end", ""]))
    ran = subprocess.run(
        [program, "-b", str(written)], capture_output=True, text=True, timeout=120, check=False
    )
    table = re.findall(rf"^\s*{shown}(-?\d\S*)\s*$", ran.stdout, re.MULTILINE)
    assert table, ran.stdout[-2000:] + ran.stderr[-2000:]
    return [(name, float(figure)) for name, figure in table]
