"""What may drop between a bus and what it feeds (FAA AC 43.13-1B, Table 11-6)."""

from __future__ import annotations

from sitegen.quantities import Fraction

DROP_LIMITS = {
    "dc": ((10, 16, 14, "0.5", "1"), (18, 32, 28, "1", "2")),
    "ac": ((105, 125, 115, "4", "8"), (180, 215, 200, "7", "14")),
}
"""FAA AC 43.13-1B, Table 11-6, from memory: what may drop between a bus and what it feeds.

(from V, to V, system V, continuous V, intermittent V). The spans round the system's volts are ours,
common practice, no source: a bus of a 28 V system shows 24 V on its battery.
"""


def allowed_drop(current: str, volts: float) -> tuple[Fraction, Fraction] | None:
    """What may drop between a bus that shows these volts and what it feeds (Table 11-6).

    Returns
    -------
    Continuous and intermittent, V; None where the table has no such system.

    Examples
    --------
    >>> allowed_drop("dc", 24.0) == (1, 2), allowed_drop("ac", 26.0)
    (True, None)
    """
    for lowest, highest, _, continuous, intermittent in DROP_LIMITS[current]:
        if lowest <= volts <= highest:
            return Fraction(continuous), Fraction(intermittent)
    return None
