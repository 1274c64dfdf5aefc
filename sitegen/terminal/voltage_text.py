"""Voltage drop and start sag in words, for the terminal and for pages."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sitegen.answers.loads.load_table import LoadTable
from sitegen.answers.start_sag import Sag, SourceSag
from sitegen.answers.voltage_drop_records import SupplyDrop, VoltageDrops, VoltsUnderLoad, WireDrop
from sitegen.quantities import PLAIN, Quantities
from sitegen.solver.network import Branch, Network
from sitegen.words import counted

BY_THE_TABLE = (
    "Copper at 20 °C (FAA AC 43.13-1B, Table 11-9), for the length in the catalogue. What has no"
    " length, or no known amps, counts as no drop. Amps that follow the volts are here those at the"
    " volts that are left."
)
"""What a drop takes for granted."""

MOST_DROPS = 10
"""Supplies in the list of what drops most."""


def drop_words(quantities: Quantities, drop: WireDrop) -> str:
    """`at most 0.42 V at 35.0 A`."""
    return f"{drop_volts(quantities, drop)} at {quantities.amps(drop.amps)}"


def drop_volts(quantities: Quantities, drop: WireDrop) -> str:
    """`at most 0.42 V`."""
    volts = quantities.drop(drop.volts)
    return volts if volts.startswith("under") else drop.bound + volts


def volts_words(quantities: Quantities, left: VoltsUnderLoad) -> str:
    """`at least 26.9 V`; `about` where the volts may be more or less."""
    return f"{left.bound}{quantities.volts_left(left.volts, left.at_least, left.at_most)}"


def supply_words(quantities: Quantities, supply: SupplyDrop) -> str:
    """What drops on a supply, what may, and what is left at the item."""
    words = []
    for drop, allowed in supply.judged:
        if not drop.volts:
            continue
        text = drop_words(quantities, drop)
        if drop is supply.short_time:
            text += " short-time"
        if allowed is not None:
            limit = quantities.volts(allowed)
            text += f", {'over the ' if drop.volts > allowed else ''}{limit} allowed"
        words.append(text)
    if supply.continuous and supply.continuous.volts:  # the volts are with these amps
        words.insert(1, f"{volts_words(quantities, supply.at_item)} at the item")
    return "; ".join(words)


def feeder_drops(network: Network, drops: VoltageDrops) -> list[tuple[Branch, WireDrop]]:
    """The feeders along which something drops, in the author's order."""
    return [(network.branches[n], drop) for n, drop in drops.feeders.items() if drop.volts]


def no_length_text(network: Network) -> str:
    """Of how many conductors no drop is worked out; empty where all have a length and a gauge."""
    feeders = [branch.ohms is None for branch in network.branches]
    supplies = [c.ohms is None for item in network.equipment for c in network.connections[item]]
    missing = counted(sum(feeders), "feeder"), counted(sum(supplies), "supply", "supplies")
    if all((*feeders, *supplies)):
        return "Not worked out: no conductor has a length and a gauge in the catalogue."
    if any((*feeders, *supplies)):
        return f"Not worked out, without length or gauge: {' and '.join(missing)}."
    return ""


def sag_words(
    quantities: Quantities, names: Mapping[str, str], table: LoadTable, source: str
) -> str:
    """`sags to 23.5 V, sags to 19.2 V with 400.0 A drawn by Starter 1`; empty where it does not."""
    words = []
    for sag in table.sags:
        if source in sag.sources:
            text = left_words(quantities, sag.sources[source])
            if text in words:
                continue
            if sag.item:
                text += f" with {quantities.amps(sag.item_amps)} drawn by {names[sag.item]}"
            words.append(text)
    return ", ".join(words)


def left_words(quantities: Quantities, left: SourceSag) -> str:
    """`sags to 23.5 V`."""
    return f"sags to {volts_words(quantities, left)}"


def sag_effects(sag: Sag) -> list[tuple[str, tuple[str, ...]]]:
    """What follows from a sag: in words, and the devices or equipment."""
    every = (
        ("would open:", sag.opens),
        ("would close:", sag.closes),
        ("may open:", sag.may_open),
        ("may close:", sag.may_close),
        ("below its least volts:", sag.too_low),
        ("may be below its least volts:", sag.may_be_low),
    )
    return [(words, ids) for words, ids in every if ids]


def voltage_text(network: Network, table: LoadTable) -> Iterator[str]:
    """The drops and sags of `loads`, line by line; nothing where nothing is known."""
    names = network.names
    lines = [
        f"  {names[branch.origin]} to {names[branch.target]}: {drop_words(PLAIN, drop)}"
        for branch, drop in feeder_drops(network, table.drops)
    ]
    lines += [
        f"  {names[supply.item]} on {names[supply.bus]}: {supply_words(PLAIN, supply)}"
        for supply in table.drops.highest_first()[:MOST_DROPS]
    ]
    without = no_length_text(network)
    if lines or without:
        yield "\nVoltage drop"
        yield from lines
    if lines:
        yield f"  {BY_THE_TABLE}"
    if without:
        yield f"  {without}"
    for sag in table.sags:
        effects = [f"{words} {', '.join(names[i] for i in ids)}" for words, ids in sag_effects(sag)]
        if effects:
            when = f"While {names[sag.item]} starts" if sag.item else "With continuous amps"
            yield f"  {when}: {'; '.join(effects)}"
