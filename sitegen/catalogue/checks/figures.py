"""Rules about figures that no aircraft has: a slip of the decimal point, or of the unit.

The bounds are common practice, no source: wide enough for any aircraft, so that what lies outside
them is a slip.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from sitegen.catalogue.checks.context import CheckContext, Path
from sitegen.catalogue.checks.wiring import wirings
from sitegen.catalogue.findings import Finding, advice, error
from sitegen.words import quoted

SMALLEST = 1e-6
"""Nothing but nought is smaller; what is divided by it stays a number."""

VOLTS = (1.0, 1_000.0)
RATED_AMPS = (0.05, 5_000.0)
AMP_HOURS = (0.1, 1_000.0)
EFFICIENCY = (0.1, 1.0)
DIODE_DROP = (0.0, 2.0)
INTERNAL_OHMS = (0.0005, 1.0)
FEET = (0.3, 300.0)
METRES = (0.1, 100.0)


class _Figure(NamedTuple):
    """One figure, with the span in which it is to be expected."""

    owner: str
    path: Path
    value: float | None
    span: tuple[float, float]
    unit: str


def figures_are_sensible(m: CheckContext) -> Iterator[Finding]:
    """A figure is of a size that an aircraft may have."""
    for figure in _figures(m):
        if not figure.value:
            continue
        lowest, highest = figure.span
        field = quoted(str(figure.path[-1]))
        if figure.value < SMALLEST:
            yield error(
                m.at(figure.path),
                f"{figure.owner}: {field} is too small to be meant.",
                "Fix the figure.",
            )
        elif not lowest <= figure.value <= highest:
            yield advice(
                m.at(figure.path),
                f"{figure.owner}: {figure.value:g}{figure.unit} is an unusual figure for {field}.",
                "Look at the decimal point and the unit.",
            )


def ranges_run_upwards(m: CheckContext) -> Iterator[Finding]:
    """Of a range, the least comes first; what a source shows is in the range of its volts."""
    for i, source in enumerate(m.catalogue.sources):
        spans = {"volts-range": source.volts_range, "charge-amps": source.charge_amps}
        for field, span in spans.items():
            if span and span[0] > span[1]:
                yield error(
                    m.at(("sources", i, field, 0)),
                    f"source {source.id}: {quoted(field)} begins with {span[0]:g} and ends with "
                    f"{span[1]:g}.",
                    "Write the least first, then the most.",
                )
            elif span and field == "volts-range" and not span[0] <= source.volts <= span[1]:
                yield advice(
                    m.at(("sources", i, field)),
                    f"source {source.id}: its {source.volts:g} V are outside "
                    f"{quoted(field)}, {span[0]:g} to {span[1]:g} V.",
                    "Fix one of the two.",
                )


def _figures(m: CheckContext) -> Iterator[_Figure]:
    c = m.catalogue
    for i, source in enumerate(c.sources):
        owner, path = f"source {source.id}", ("sources", i)
        yield _Figure(owner, (*path, "volts"), source.volts, VOLTS, " V")
        yield _Figure(owner, (*path, "amps"), source.amps, RATED_AMPS, " A")
        yield _Figure(owner, (*path, "amp-hours"), source.amp_hours, AMP_HOURS, " Ah")
        yield _Figure(owner, (*path, "efficiency"), source.efficiency, EFFICIENCY, "")
        yield _Figure(owner, (*path, "usable"), source.usable, EFFICIENCY, "")
        yield _Figure(owner, (*path, "internal-ohms"), source.internal_ohms, INTERNAL_OHMS, " ohms")
        for volts in source.volts_range or ():
            yield _Figure(owner, (*path, "volts-range"), volts, VOLTS, " V")
        for taken in source.charge_amps or ():
            yield _Figure(owner, (*path, "charge-amps"), taken, (0, RATED_AMPS[1]), " A")
    for words, of_wiring, wiring in wirings(m):
        if wiring.length:
            for unit, value, span in (
                ("feet", wiring.length.feet, FEET),
                ("metres", wiring.length.metres, METRES),
            ):
                yield _Figure(words, (*of_wiring, "length", unit), value, span, f" {unit}")
    for i, device in enumerate(c.devices):
        owner = f"{device.kind} {device.id}"
        yield _Figure(owner, ("devices", i, "amps"), device.amps, RATED_AMPS, " A")
        yield _Figure(owner, ("devices", i, "drop-volts"), device.drop_volts, DIODE_DROP, " V")
    for one in m.supplies:
        for own in one.own_protectors:
            yield _Figure(own.words, (*own.path, "amps"), own.record.amps, RATED_AMPS, " A")
    for i, equipment in enumerate(c.equipment):
        owner = f"equipment {equipment.id}"
        for field, amps in (("amps", equipment.amps), ("peak-amps", equipment.peak_amps)):
            figures = amps if isinstance(amps, dict) else {"": amps}
            for column, value in figures.items():
                path_of_amps: Path = ("equipment", i, field, *((column,) if column else ()))
                yield _Figure(owner, path_of_amps, value, (0, RATED_AMPS[1]), " A")
