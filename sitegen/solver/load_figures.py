"""What a piece of equipment draws, as the catalogue has it."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal

from sitegen.catalogue.model import Amps, Equipment


def millivolts(volts: float) -> int:
    """Volts as whole millivolts, rounded half up.

    Examples
    --------
    >>> millivolts(27.9995), millivolts(27.9994), millivolts(0.7)
    (28000, 27999, 700)
    """
    return int((Decimal(repr(volts)) * 1000).quantize(Decimal(1), ROUND_HALF_UP))


def amps_of(equipment: Equipment, column: str | None, peak: bool = False) -> float | None:
    """What a piece of equipment draws in a load column, A; None where the catalogue has no figure.

    A short-time figure that is left out is the continuous one.
    """
    continuous = _figure(equipment.amps, column)
    short = _figure(equipment.peak_amps, column) if peak else None
    return continuous if short is None else max(short, continuous or 0)


def _figure(amps: Amps | None, column: str | None) -> float | None:
    if isinstance(amps, Mapping):
        return amps.get(column) if column else None
    return amps
