"""What a component is, where it is and what closes it, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from markupsafe import Markup

from sitegen.answers.idle_acts import acts_of, only
from sitegen.catalogue.model import Bus, Device, Failure, Source, Terms
from sitegen.pages.page_context import PageContext
from sitegen.pages.theme import macro
from sitegen.quantities import NO_BREAK
from sitegen.solver.network import Branch

MOST_IN_SIGHT = 6
"""Acts of the crew that are listed openly; more are folded up."""

Fact = tuple[str, Markup]
"""A label and its text."""


def component_facts(context: PageContext, component: str) -> list[Fact]:
    """What the catalogue knows of a source, a bus or a device."""
    return list(_facts(context, component))


def place_line(context: PageContext, component: str) -> str:
    """Of a device: its rating, its place, and between which nodes or on which bus it is."""
    network = context.answers.network
    if component in network.nodes:
        return ""
    rated = NO_BREAK.rated(network.components[component].amps)
    between, on = between_and_on(context, component)
    return ", ".join(filter(None, (rated, network.positions[component], *between, *on)))


def between_and_on(context: PageContext, component: str) -> tuple[list[str], list[str]]:
    """Between which nodes a device is, and on which buses a shared breaker is, in words."""
    network = context.answers.network
    between = [e.named(network.names) for e in context.answers.device_ends.get(component, ())]
    on = dict.fromkeys(
        f"on {network.names[c.bus]}"
        for connections in network.connections.values()
        for c in connections
        if component in c.through
    )
    return between, list(on)


def _facts(context: PageContext, component: str) -> Iterator[Fact]:
    network, links = context.answers.network, context.fragments.links
    if component in network.nodes:
        if component in network.sources:
            yield "Rating", Markup("{}").format(_rating(context, component))
        else:
            yield "Bus page", links[component]
    else:
        between = [
            _between(context, branch) for branch in network.branches if component in branch.through
        ]
        if between:
            yield "Between", Markup("; ").join(dict.fromkeys(between))
        served = [
            (owner, c.bus)
            for owner, connections in network.connections.items()
            for c in connections
            if component in c.through
        ]
        if served:
            owners, buses = (list(dict.fromkeys(ids)) for ids in zip(*served, strict=True))
            yield "On", context.fragments.list(buses)
            yield "In the supply of", context.fragments.list(owners)
        if network.switching.get(component):
            yield "Closes when", terms_words(context, network.switching[component])
    catalogue = network.catalogue
    records: tuple[Source | Bus | Device, ...] = (
        *catalogue.sources,
        *catalogue.buses,
        *catalogue.devices,
    )
    for record in records:
        if record.id == component:
            if record.note:
                yield "Note", context.fragments.prose(record.note)
            if record.reference:
                yield "Reference", Markup("{}").format(record.reference)
            if checked := context.checked(component):
                yield "Checked", Markup("{}").format(checked)


def _rating(context: PageContext, source: str) -> str:
    known = context.answers.network.sources[source]
    words = [f"{NO_BREAK.volts(known.volts)} {known.current.upper()}"]
    if known.amps:
        words.append(NO_BREAK.rated(known.amps))
    if known.amp_hours:
        words.append(f"{known.amp_hours:g}\u00a0Ah")
    return ", ".join(words)


def _between(context: PageContext, branch: Branch) -> Markup:
    links = context.fragments.links
    return Markup("{} and {}").format(links[branch.origin], links[branch.target])


def terms_words(context: PageContext, alternatives: Sequence[Terms]) -> Markup:
    """`closes-when` and `lit-when` as a sentence."""
    return Markup("; or ").join(_all_terms(context, terms) for terms in alternatives)


def _all_terms(context: PageContext, terms: Terms) -> Markup:
    links, sources = context.fragments.links, context.answers.network.sources

    def node(name: str, live: bool) -> Markup:
        if name in sources:
            return Markup("{} {}").format(links[name], "produces" if live else "does not produce")
        return Markup("{} is {}").format(links[name], "live" if live else "dead")

    words = [
        *(Markup("{} is {}").format(links[s], place) for s, place in terms.switches.items()),
        *(node(n, True) for n in terms.live),
        *(node(n, False) for n in terms.dead),
        *(Markup("{} is closed").format(links[d]) for d in terms.closed),
        *(Markup("{} is open").format(links[d]) for d in terms.open),
        *(
            Markup("{} shows {} than {}").format(links[n], side, NO_BREAK.volts(volts))
            for side, limits in (("more", terms.volts_above), ("less", terms.volts_below))
            for n, volts in limits.items()
        ),
    ]
    return Markup(" and ").join(words) if words else Markup("always")


def crew_acts(context: PageContext, failure: Failure, condition: int) -> Markup:
    """What the crew does about a failure in a condition, by its number: what does nothing there is
    left out, and where all of it does nothing there is no list.
    """
    if failure.id not in context.idle_acts:
        return Markup()
    idle = context.idle_acts[failure.id][condition]
    does = failure.crew_does(context.answers.conditions[condition].id)
    links, then = context.fragments.links, only(does, {*acts_of(does)} - idle)
    acts = [
        *({"verb": "", "what": links[s], "position": p} for s, p in then.switches.items()),
        *({"verb": "Turn off ", "what": links[e]} for e in then.shed),
        *({"verb": "Pull ", "what": context.fragments.places[p]} for p in then.pulled),
        *({"verb": "Reset ", "what": context.fragments.failing[r]} for r in then.reset),
    ]
    return macro("crew_acts")(acts, MOST_IN_SIGHT)
