"""What each meter, lamp and flag shows, in every scenario at once."""

from __future__ import annotations

from collections.abc import Sequence

from sitegen.answers.loads.metered import Draws, draws, metered
from sitegen.catalogue.model import Indication
from sitegen.solver.load_figures import whole
from sitegen.solver.network import Network
from sitegen.solver.outcome import Power

METERS = ("voltmeter", "ammeter", "loadmeter")
LOAD_METERS = ("ammeter", "loadmeter")

BLANK = "blank"
"""What an indication shows when its own power is gone."""

LOAD, NO_LOAD = "load", "no load"
"""What a loadmeter or ammeter shows where the figure is not known."""

DISCHARGE, CHARGE = " discharge", " charge side"
"""Which way current flows in a battery's feeder; what a battery takes to charge is left out, so the
charge side shows what is fed past its terminals."""

SCALE_READ = 5
"""A loadmeter is read to 5 % of the rating, an ammeter to 5 A: what lies closer than that looks
the same. Common practice, no source."""

Readings = tuple[tuple[str, int], ...]
"""(what is shown, mask of the scenarios in which it is), the masks apart and complete."""


def readings(power: Power) -> dict[str, Readings]:
    """By indication: what it shows, each reading with its scenarios.

    A voltmeter shows its node's volts: `28.5 V`, `0 V`. A loadmeter shows percent of the rating,
    `48 %`; an ammeter, or a loadmeter where there is no rating, `35 A`, in a battery's feeder
    `35 A discharge` or `35 A charge side`; where that cannot be told
    (`metered.Metered.unsure`), `load` or `no load`. A lamp or flag shows `lit` or `unlit`. Each
    shows `blank` without its own power.
    """
    indications = power.steady.network.catalogue.indications
    loads = any(i.kind in LOAD_METERS for i in indications)
    drawn = draws(power) if loads else None
    return {i.id: reading(i, power, drawn) for i in indications}


def reading(indication: Indication, power: Power, drawn: Draws | None = None) -> Readings:
    """What one indication shows; `drawn` is what equipment draws, where the caller has it."""
    powered = has_power(indication, power)
    shown = [(BLANK, power.steady.setting.all & ~powered)]
    rest = powered
    for text, mask in _when_powered(indication, power, drawn):
        shown.append((text, mask & rest))
        rest &= ~mask
    return tuple((text, mask) for text, mask in shown if mask)


def has_power(indication: Indication, power: Power) -> int:
    """The scenarios in which an indication has the power that it needs itself."""
    if not indication.supplies:
        return power.steady.setting.all
    powered = 0
    for fed in power.fed[indication.id]:
        powered |= fed
    return powered


def unit_of(indication: Indication, network: Network) -> tuple[str, float]:
    """The unit that a loadmeter or ammeter shows, and how much of it one amp is."""
    at = indication.at or ""
    rated = (network.sources.get(at) or network.components[at]).amps
    if indication.kind == "loadmeter" and rated:
        return "%", 100 / rated
    return "A", 1.0


def directions(indication: Indication, network: Network) -> tuple[str, str]:
    """What an ammeter in a battery's feeder says besides: the way along the feeder, and back."""
    branches = [branch for branch in network.branches if indication.at in branch.through]
    if indication.kind != "ammeter" or len(branches) != 1:
        return "", ""
    ends = [network.sources.get(node) for node in (branches[0].origin, branches[0].target)]
    is_battery = [end is not None and end.kind == "battery" for end in ends]
    if is_battery == [True, False]:
        return DISCHARGE, CHARGE
    return (CHARGE, DISCHARGE) if is_battery == [False, True] else ("", "")


def reads_the_same(one: str, other: str) -> bool:
    """Whether a person reads the same off two readings of one indication.

    Examples
    --------
    >>> reads_the_same("48 %", "45 %"), reads_the_same("48 %", "96 %")
    (True, False)
    >>> reads_the_same("24 V", "28 V"), reads_the_same("0 A", "load")
    (False, False)
    """
    if one == other:
        return True
    here, there = figure_of(one), figure_of(other)
    if here is None or there is None:
        return False
    # Something against nothing is seen, however little: the needle leaves its stop.
    if not here or not there:
        return here == there
    which_way = one.partition(" ")[2] == other.partition(" ")[2]
    return which_way and abs(here - there) <= SCALE_READ


def figure_of(shown: str) -> float | None:
    """The figure on a loadmeter or ammeter; None where there is none, and for all else."""
    figure, _, unit = shown.partition(" ")
    return float(figure) if unit.partition(" ")[0] in ("%", "A") else None


def read_off(shown: str) -> str:
    """A reading as a person tells it: a load to the nearest 5, all else as it is.

    Examples
    --------
    >>> read_off("48 %"), read_off("1 A"), read_off("28.5 V")
    ('50 %', '5 A', '28.5 V')
    """
    figure = figure_of(shown)
    if not figure:
        return shown
    nearest = SCALE_READ * max(1, whole(figure / SCALE_READ))
    return f"{nearest:g} {shown.partition(' ')[2]}"


def told_apart(shown: Sequence[str]) -> list[str]:
    """For each of these readings of one indication, the range that it cannot be told from.

    Loads that follow each other by no more than a person can read make one range.

    Examples
    --------
    >>> told_apart(["48 %", "96 %", "45 %", "0 %", "blank"])
    ['45 to 48 %', '96 %', '45 to 48 %', '0 %', 'blank']
    """
    units: dict[str, set[float]] = {}
    for text in shown:
        figure = figure_of(text)
        if figure is not None:
            units.setdefault(text.partition(" ")[2], set()).add(figure)
    label: dict[str, str] = {}
    for unit, figures in units.items():
        ranges: list[list[float]] = []
        for figure in sorted(figures):
            if ranges and ranges[-1][-1] and figure - ranges[-1][-1] <= SCALE_READ:
                ranges[-1].append(figure)
            else:
                ranges.append([figure])
        for r in ranges:
            said = f"{r[0]:g} to {r[-1]:g}" if len(r) > 1 else f"{r[0]:g}"
            label.update({f"{figure:g} {unit}": f"{said} {unit}" for figure in r})
    return [label.get(text, text) for text in shown]


def _when_powered(
    indication: Indication, power: Power, drawn: Draws | None
) -> list[tuple[str, int]]:
    every = power.steady.setting.all
    if indication.kind in ("lamp", "flag"):
        lit = power.steady.terms_hold(indication.lit_when or ())
        return [("lit", lit), ("unlit", every)]
    at = indication.at or ""
    if indication.kind == "voltmeter":
        levels = [(f"{volts:g} V", mask) for volts, mask in power.volts[at]]
        return [*levels, ("0 V", every)]
    found = metered(drawn or draws(power), at)
    unit, share = unit_of(indication, power.steady.network)
    forwards, backwards = directions(indication, power.steady.network)
    figures: dict[str, int] = {}
    for k, amps in enumerate(found.flow(every.bit_length())):
        figure = whole(abs(amps) * share)
        way = (forwards if amps > 0 else backwards) if figure else ""
        text = f"{figure} {unit}{way}"
        figures[text] = figures.get(text, 0) | 1 << k
    return [
        (LOAD, carrying(at, power) & found.unsure),
        (NO_LOAD, found.unsure),
        *figures.items(),
    ]


def carrying(at: str, power: Power) -> int:
    """Whether current may flow through a source, or through the run in which a device stands."""
    steady = power.steady
    if at in steady.network.sources:
        return power.carries[at]
    flowing = 0
    for branch, mask in zip(steady.network.branches, steady.branch_masks, strict=True):
        if at in branch.through:
            # Into a bus that is dead or shorted nothing flows: the short has opened the run.
            flowing |= mask & steady.live[branch.origin] & steady.live[branch.target]
    return flowing
