"""Tables from open standards, read from the project's own data."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import yaml

from sitegen.catalogue.model import Length, gauge_number
from sitegen.quantities import Fraction, exactly
from sitegen.resources import reference

WIRE_PROTECTORS = "wire-protectors.yaml"
WIRE_RESISTANCE = "wire-resistance.yaml"

METRES_IN_A_FOOT = Fraction(3048, 10000)
"""Exact, by definition of the international foot (1959)."""


@dataclass(frozen=True)
class WireRow:
    """One line of Table 11-3: what may protect a copper wire, A; None where the table has none."""

    gauge: int
    breaker: float | None
    fuse: float | None


def wire_rows() -> tuple[WireRow, ...]:
    """FAA AC 43.13-1B, Table 11-3: what may protect a copper wire of each AN gauge."""
    table = yaml.safe_load(reference(WIRE_PROTECTORS).read_text(encoding="utf-8"))
    return tuple(WireRow(row["gauge"], row["breaker"], row["fuse"]) for row in table["rows"])


@lru_cache(maxsize=1)
def wire_resistances() -> dict[int, Fraction]:
    """FAA AC 43.13-1B, Table 11-9: by AN gauge, ohms of 1,000 ft of copper wire at 20 C."""
    table = yaml.safe_load(reference(WIRE_RESISTANCE).read_text(encoding="utf-8"))
    return {gauge_number(row["gauge"]): exactly(row["ohms"]) for row in table["rows"]}


def wire_ohms(length: Length | None, gauge: int | None) -> Fraction | None:
    """What a conductor has, ohms; None where its length or gauge is not known, or not in the table.

    The length is counted once: the structure carries the current back (common practice, no source).
    """
    per_1000_feet = wire_resistances().get(gauge) if gauge is not None else None
    if length is None or per_1000_feet is None:
        return None
    feet = length.feet if length.metres is None else exactly(length.metres) / METRES_IN_A_FOOT
    return exactly(feet or 0) * per_1000_feet / 1000
