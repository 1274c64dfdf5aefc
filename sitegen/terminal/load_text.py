"""How loaded everything is, as plain text and as CSV."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from sitegen.answers.loads.carried import CurrentBounds
from sitegen.answers.loads.load_table import LoadTable, SourceLoad, most_first
from sitegen.answers.loads.source_loads import Load
from sitegen.answers.loads.state_amps import NO_AMPS
from sitegen.answers.loads.worst_cases import NEGLIGIBLE_AMPS, WorstCase
from sitegen.answers.over_rating import allowed_for
from sitegen.catalogue.model import NO_ACTS, Failure
from sitegen.quantities import (
    NOT_KNOWN,
    PLAIN,
    Quantities,
    exactly,
)
from sitegen.solver.network import Network
from sitegen.terminal.endurance_text import endurance_text
from sitegen.terminal.shared_text import CAUTION, allowed_text, fault_text, heading, section
from sitegen.terminal.voltage_text import sag_words, voltage_text
from sitegen.words import counted, join_words

MOST_LISTED = 10
"""Equipment in the list of what draws most."""

FIGURES = (
    "Computed from the catalogue's figures, not measured; battery charging is left out. The"
    " approved data decides."
)


def load_text(
    network: Network, table: LoadTable, title: str, failure: Failure | None = None
) -> Iterator[str]:
    """How loaded everything is, line by line.

    Parameters
    ----------
    network, table : the airframe and its amps.
    title : what has failed, in words; empty for nothing.
    failure : the named failure, if it is one.
    """
    names, load = network.names, table.load
    then = failure.crew_does(load.condition) if failure else NO_ACTS
    yield heading(network, load.condition)
    yield over_rating_text(network, table, JUDGED_ELSEWHERE)
    if title:
        yield title
    if table.assumes:
        yield f"Assumed: {'; '.join(table.assumes)}."
    yield from section(
        "After a failure, over its rating (each with the failure that loads it most)",
        [
            f"  {_after(network, group[0][2])}: "
            + "; ".join(
                f"{names[component]} {over_at_worst(PLAIN, network, table, *over)}"
                for over in group
                for component in over[:1]
            )
            for group in table.over_at_worst(network)
        ],
    )
    yield from section(
        "After a failure, over its short-time rating if all short-time loads come at once",
        [
            f"  {_after(network, worst)}: {names[source]} {peak_at_worst(PLAIN, allowed, worst)}"
            for source, allowed, worst in table.short_time_over_at_worst(network)
        ],
    )
    yield from section(
        "After a failure, not known",
        [
            f"  {_after(network, case)}: what goes through"
            f" {join_words(sources_among(network, found, names))}"
            for case, found in table.not_known_after()
        ],
    )
    missing = _missing(table)
    yield f"\nSources{missing}"
    for source in table.sources:
        given = given_text(PLAIN, network, source, load, of_rating=True)
        margin = margin_text(PLAIN, source, load)
        yield f"  {names[source.source]}: {', '.join((given, *margin))}"
        sagging = sag_words(PLAIN, names, table, source.source)
        if sagging:
            yield f"    {sagging}"
        worst = table.worst_sources.get(source.source)
        if worst and worst.exceeds(source.amps):
            yield f"    at worst {_worst(network, worst, source.rated)}"
    yield f"\nBuses, what each feeds directly{missing}"
    for bus in network.catalogue.buses:
        state = load.nodes[bus.id]
        if state.live:
            amps, peak = load.buses.get(bus.id, NO_AMPS), table.peak.buses.get(bus.id, NO_AMPS)
            short = f", {PLAIN.amps(peak)} short-time" if peak > amps + NEGLIGIBLE_AMPS else ""
            yield f"  {bus.name}: {bus_text(PLAIN, load, bus.id)}{short}"
        else:
            yield f"  {bus.name}: dead"
    if load.converters:
        yield "\nConverters"
        for converter, amps in load.converters.items():
            record = network.sources[converter]
            least = converter in load.short_sources
            given = PLAIN.least_amps(load.sources[converter], least)
            output = f"gives {given} at {PLAIN.volts(record.volts)}"
            if given == NOT_KNOWN:
                output = "what it gives is not known"
            taken = "what it takes at its input is not known"
            if converter in load.unknown:
                taken += ", since it carries that itself"
            elif PLAIN.least_amps(amps, least) != NOT_KNOWN:
                taken = f"takes {PLAIN.least_amps(amps, least)} at its input"
            yield f"  {record.name}: {output}; {taken}"
    yield f"\nIn the feeders{missing}"
    for device, carried in table.listed_devices(network).items():
        component = network.components[device]
        carries = carried_of(PLAIN, carried, component.amps)
        worst = table.worst_devices.get(device)
        more = ""
        if worst and worst.exceeds(carried.most):
            more = f"; at worst {_worst(network, worst, component.amps)}"
            more += OPENS.get(table.opens_at_worst.get(device, ""), "")
        if case := table.must_open_after.get(device):
            more += f"; {_worst(network, case, component.amps)}{OPENS['must']}"
        yield f"  {names[device]}: {carries}{opens_text(table, device)}{more}"
    yield from voltage_text(network, table)
    yield "\nWhat draws most"
    for item, amps in most_first(load.drawn)[:MOST_LISTED]:
        yield f"  {names[item]}: {PLAIN.short_amps(amps)}"
    if load.unknown:
        yield f"\nNo figure, counted as nothing: {counted(len(load.unknown), 'item')}"
        yield f"  {', '.join(names[i] for i in load.unknown)}"
    here = next(c for c in network.catalogue.conditions if c.id == load.condition)
    if not here.battery_time:
        yield f"\n{here.name}: no time on battery is computed in this condition."
    for endurance in table.endurances:
        yield from endurance_text(network, endurance, then)
    yield f"\n{FIGURES}"
    yield CAUTION


def sources_among(
    network: Network, components: Sequence[str], names: Mapping[str, str]
) -> list[str]:
    """The names of the sources among them, and how many devices there are besides."""
    named = [names[c] for c in components if c in network.sources]
    devices = len(components) - len(named)
    return [*named, counted(devices, "device")] if devices else named


def worst_amps(quantities: Quantities, worst: WorstCase, rated: float | None) -> str:
    """`up to 185.8 A, 310 %`: what a source or device gives or carries in its worst case."""
    share = f", {quantities.percent(100 * worst.amps / exactly(rated))}" if rated else ""
    return f"{carried_text(quantities, worst.bounds)}{share}"


def over_at_worst(
    quantities: Quantities,
    network: Network,
    table: LoadTable,
    component: str,
    rating: float,
    worst: WorstCase,
) -> str:
    """The same of what is over its rating then, and whether it opens or how long it may be so."""
    source = network.sources.get(component)
    allowed = allowed_for(source, worst.amps, worst.bounds.unknown) if source else ""
    opens = OPENS.get(table.word_in(component, worst), "")
    more = f", {allowed_text(allowed)}" if allowed else opens
    return worst_amps(quantities, worst, rating) + more


def peak_at_worst(quantities: Quantities, allowed: float, worst: WorstCase) -> str:
    """What a source gives in its worst case with all short-time amps at once."""
    bound = "at least" if worst.bounds.unknown else "up to"
    return f"{bound} {quantities.amps(worst.amps)}; allowed are {quantities.rated(allowed)}"


JUDGED_ELSEWHERE = (
    " Breakers and fuses of items are judged under Protection (`inspect`), with nothing failed."
)


def over_rating_text(network: Network, table: LoadTable, elsewhere: str = "") -> str:
    """Whether a source or feeder is over its rating in any condition, in one line.

    `elsewhere` says where else ratings are judged, where nothing is over here.
    """
    over: dict[str, list[str]] = {}
    for component, condition, how_far in table.over_rating:
        percent = f"{how_far.bound}{PLAIN.percent(how_far.percent)}"
        text = f"{percent} in {network.condition_names[condition]}"
        over.setdefault(component, []).append(text)
    if over:
        each = [f"{network.names[c]}, {join_words(texts)}" for c, texts in over.items()]
        return f"Over its rating with nothing failed: {'; '.join(each)}."
    unrated = [s.name for s in network.sources.values() if s.amps is None]
    share = {s.kind for s in network.sources.values() if s.amps is None} - {"battery"}
    shared = " A load shared with it counts as divided equally; meters may show otherwise."
    shared = shared if share else ""
    but = f" No rating is given: {join_words(unrated, most=4)}.{shared}" if unrated else ""
    unknown = not all(e.has_amps for e in network.equipment.values())
    known = ", as far as amps are known" if unknown else ""
    return (
        f"With nothing failed, and every source at its own volts, no source or feeder is over its"
        f" rating in any condition{known}.{but}"
        f"{elsewhere}"
    )


def given_text(
    quantities: Quantities, network: Network, source: SourceLoad, load: Load, of_rating: bool
) -> str:
    """`at least 35.0 A at 24 V of 60 A, 58 %`: what a source gives, with its rating or without."""
    given = quantities.least_amps(source.amps, source.source in load.short_sources)
    if given == NOT_KNOWN:
        return given
    if network.sources[source.source].volts_range:  # it may show other volts too
        given += f" at {quantities.volts(network.sources[source.source].volts)}"
    if source.percent is None:
        return given
    of = f" of {quantities.rated(source.rated)}" if of_rating else ""
    return f"{given}{of}, {quantities.percent(source.percent)}"


def bus_text(quantities: Quantities, load: Load, bus: str) -> str:
    """`at least 12.0 A at 28 V`: what a live bus feeds directly."""
    drawn = quantities.least_amps(load.buses.get(bus, NO_AMPS), bus in load.short_nodes)
    volts = quantities.volts(load.nodes[bus].volts)
    return f"amps {NOT_KNOWN}, {volts}" if drawn == NOT_KNOWN else f"{drawn} at {volts}"


def margin_text(quantities: Quantities, source: SourceLoad, load: Load) -> Iterator[str]:
    """What a source has to spare, or by how much it is over its rating and for how long it may be;
    and what it gives with all short-time amps at once.
    """
    unknown = source.source in load.short_sources
    least = "at least " if unknown else ""
    if quantities.least_amps(source.amps, unknown) == NOT_KNOWN:
        pass
    elif source.margin is not None and source.margin < 0:
        yield f"{least}{quantities.amps(-source.margin)} over its rating"
        if allowed_text(source.allowed_for):
            yield allowed_text(source.allowed_for)
    elif source.margin is not None:
        yield f"{'at most ' if least else ''}{quantities.amps(source.margin)} spare"
    if source.peak > source.amps + NEGLIGIBLE_AMPS:
        share = f", {quantities.percent(source.peak_percent)}" if source.peak_percent else ""
        if source.is_short_time_over:
            share += f", over its short-time rating of {quantities.rated(source.short_time)}"
        # Not all starts come together, and what has no figure may add to them.
        bound = "" if unknown else "up to "
        together = " with all that has a figure at once" if unknown else ""
        yield f"short-time load {bound}{quantities.amps(source.peak)}{together}{share}"


def carried_of(quantities: Quantities, carried: CurrentBounds, rated: float | None) -> str:
    """`up to 35.0 A of 60 A, 58 %`: what a device carries of its rating."""
    amps = carried_text(quantities, carried)
    if not rated or amps == NOT_KNOWN:
        return amps
    most = carried.least if carried.unknown else carried.most
    share = quantities.percent(100 * most / exactly(rated))
    return f"{amps} of {quantities.rated(rated)}, {share}"


def carried_text(quantities: Quantities, carried: CurrentBounds) -> str:
    """What a device in a feeder carries."""
    most = quantities.amps(carried.most)
    if carried.unknown:
        return quantities.least_amps(carried.least, unknown=True)
    return most if carried.most - carried.least < NEGLIGIBLE_AMPS else f"up to {most}"


OPENS = {"must": ", opens", "may": ", may open"}


def opens_text(table: LoadTable, device: str) -> str:
    """Whether an overloaded device opens, to go after its amps."""
    return OPENS.get(table.opens.get(device, ""), "")


def _missing(table: LoadTable) -> str:
    number = len(table.load.unknown)
    have = "has" if number == 1 else "have"
    return f" (at least: {counted(number, 'item')} {have} no figure)" if number else ""


def _worst(network: Network, worst: WorstCase, rated: float | None) -> str:
    return f"{worst_amps(PLAIN, worst, rated)}: {_after(network, worst)}"


def _after(network: Network, worst: WorstCase) -> str:
    named = worst.named(network)
    failed = named.name if named else ", ".join(fault_text(network, *f) for f in worst.failed)
    return failed + (", once the crew has acted" if worst.acted_on else "")
