"""What equipment draws, as the catalogue has it, in exact numbers."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache

from sitegen.catalogue.model import Amps, Equipment
from sitegen.quantities import Fraction

Figures = dict[str, Fraction | None]
"""By equipment, A; None where the catalogue has no figure."""


@lru_cache(maxsize=8192)
def exact(figure: float) -> Fraction:
    """A figure of the catalogue, as it is written there.

    Examples
    --------
    >>> exact(0.1) + exact(0.2) == exact(0.3)
    True
    """
    return Fraction(repr(figure))


def millivolts(volts: float) -> int:
    """Volts as whole millivolts, rounded half up.

    Examples
    --------
    >>> millivolts(27.9995), millivolts(27.9994), millivolts(0.7)
    (28000, 27999, 700)
    """
    return int((Decimal(repr(volts)) * 1000).quantize(Decimal(1), ROUND_HALF_UP))


def amps_of(equipment: Equipment, column: str | None, peak: bool = False) -> Fraction | None:
    """What a piece of equipment draws in a load column, A; None where the catalogue has no figure.

    A short-time figure that is left out is the continuous one. What has a figure for each of its
    supplies draws the sum of these.
    """
    of_supplies = supply_amps(equipment, column)
    continuous = _figure(equipment.amps, column)
    if of_supplies:
        known = [amps for amps in of_supplies if amps is not None]
        continuous = sum(known, Fraction()) if len(known) == len(of_supplies) else None
    short = _figure(equipment.peak_amps, column) if peak else None
    return continuous if short is None else max(short, continuous or Fraction())


def supply_amps(equipment: Equipment, column: str | None) -> tuple[Fraction | None, ...]:
    """What equipment that needs all its supplies draws on each, A; empty with one figure."""
    return tuple(_figure(amps, column) for amps in equipment.amps_of_supplies)


def _figure(amps: Amps | None, column: str | None) -> Fraction | None:
    if isinstance(amps, Mapping):
        amps = amps.get(column) if column else None
    return None if amps is None else exact(amps)
