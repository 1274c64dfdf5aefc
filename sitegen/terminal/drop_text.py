"""What a failure takes, as text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from sitegen.answers.because import Event, causes_first
from sitegen.answers.besides import besides
from sitegen.answers.drop import Loss
from sitegen.answers.readings import may_change, reading_text
from sitegen.answers.single_failures import CONFLICT
from sitegen.answers.switching_changes import switching_changes
from sitegen.catalogue.model import Failure
from sitegen.quantities import PLAIN
from sitegen.solver.network import Network
from sitegen.terminal.closing_volts_text import closing_volts
from sitegen.terminal.headline_text import assumed, headline
from sitegen.terminal.shared_text import (
    CAUTION,
    counted_on_in_vain,
    crew_acts,
    fault_text,
    hazard_lines,
    heading,
    named_in_effect,
    place_text,
    section,
    too_few_volts,
)
from sitegen.words import counted, in_words, join_words

MEANING = "What that means: docs/answers.md, 'What the answers assume'."


def loss_text(
    network: Network,
    loss: Loss,
    normal: Loss,
    named: Failure | None,
    after: bool,
    dip: Loss | None = None,
    is_dip: bool = False,
    is_overload: bool = False,
    events: Sequence[Event] = (),
) -> Iterator[str]:
    """What a failure takes, line by line.

    Parameters
    ----------
    network, loss : the airframe and what is lost.
    normal : the same condition with nothing failed, to say which readings changed.
    named : the named failure, if it is one.
    after : the crew has acted.
    dip : the same failure if contactors drop out while the fault lasts.
    is_dip : `loss` itself is that answer, and `dip` the one in which they ride through.
    is_overload : `loss` is the answer in which what is overloaded opens.
    events : how it comes about.
    """
    names = network.names
    yield heading(network, loss.condition)
    title = named.name if named else ", ".join(fault_text(network, *f) for f in loss.failed)
    yield f"{title}{', after the crew has acted' if after else ''}"
    if after and named:
        acts = crew_acts(network, named.crew_does(loss.condition))
        for text in (acts, named.crew_note(loss.condition)):
            if text:
                yield f"  {in_words(text)}"
    yield ""
    if loss.chatter:
        yield f"These contactors chatter: {', '.join(names[d] for d in loss.chatter)}."
        yield "They count as open here; in the aircraft they may do anything."
    yield from headline(network, loss, normal, dip, is_dip)
    if is_overload:
        yield "Assumed here: what is overloaded opens."
    taken = assumed(is_dip)
    yield f"Assumed: {taken[0].lower()}{taken[1:]} {MEANING}"
    dead = [n for n in loss.nodes if normal.nodes[n].live and not loss.nodes[n].live]
    if dead:
        yield f"Without power: {', '.join(names[n] for n in dead)}."
    reasons = {item: list(_reasons_lost(network, loss, item)) for item in loss.lost}
    yield from _items(network, "Lost", loss.lost, with_effect=True, reasons=reasons)
    yield from _items(network, "Comes on", loss.comes_on, with_effect=True)
    yield from _items(network, "Turned on by the crew", loss.turned_on)
    yield from _items(network, f"Not known: {CONFLICT}", loss.not_known)
    yield from _items(network, "Reduced: works, but a supply or alternative is gone", loss.reduced)
    yield from _items(network, "Turned off by the crew", loss.shed)
    battery = [e for e in loss.on_battery if e not in normal.on_battery]
    yield from _items(network, "Now on battery only", battery)
    if normal.on_battery and loss.on_battery:
        yield f"\nOn battery only in this condition: {counted(len(loss.on_battery), 'item')}."
    states = {"lost": "lost", "one-left": "nothing to spare"}
    off = besides(network, loss, normal).functions_off
    function_lines = [
        f"  {names[f]}: "
        + (
            "available, was not before"
            if was == "lost"
            else "turned off"
            if f in off
            else states[state]
        )
        for (f, state), was in zip(loss.functions.items(), normal.functions.values(), strict=True)
        if state != was and (state != "kept" or was == "lost")
    ]
    yield from section("Functions", function_lines)
    kinds = {i.id: i.kind for i in network.catalogue.indications}
    reading_lines = [
        f"  {names[i]}: {reading_text(reading, kinds[i])}"
        f" (was {reading_text(normal.readings[i], kinds[i])})"
        for i, reading in loss.readings.items()
        if may_change(reading, normal.readings[i])
    ]
    yield from section("Readings that clearly change", reading_lines)
    changes = switching_changes(network, loss, normal)
    moved = [f"  {names[device]}: {change}" for device, change in changes]
    yield from section("What opens or closes", moved)
    yield from section("How it comes about", list(_event_lines(network, events, loss)))
    live = [
        f"{names[n]} {s.volts:g} V{' (battery)' if s.battery else ''}"
        for n, s in loss.nodes.items()
        if s.live and n not in network.sources
    ]
    yield f"\nStill live: {', '.join(live) or 'nothing'}."
    yield f"Still working: {counted(len(loss.kept) + len(loss.reduced), 'item')}."
    if loss.not_powered:
        yield f"Not powered in this condition anyway: {counted(len(loss.not_powered), 'item')}."
    powered = [n for n, s in loss.nodes.items() if s.live]
    powered += [*loss.kept, *loss.reduced, *loss.comes_on, *loss.turned_on]
    yield from section("Hazard, and still with power", list(hazard_lines(network, powered)))
    yield f"\n{CAUTION}"


def _items(
    network: Network,
    title: str,
    items: Iterable[str],
    with_effect: bool = False,
    reasons: Mapping[str, Sequence[str]] | None = None,
) -> Iterator[str]:
    lines = []
    for item in sorted(items, key=lambda e: (network.equipment[e].ata, e)):
        equipment = network.equipment[item]
        places = "; ".join(place_text(network, c) for c in network.connections[item])
        lines.append(f"  {equipment.ata:<8} {equipment.name}  [{places}]")
        effect = equipment.if_it_comes_on if title == "Comes on" else equipment.on_loss
        if with_effect and effect:
            lines.append(f"           {in_words(effect)}")
        for reason in reasons[item] if reasons else ():
            lines.append(f"           {reason}.")
        if item in network.hazards:
            lines.append(f"           Hazard: {network.hazards[item]}.")
    yield from section(title, lines)


def _reasons_lost(network: Network, loss: Loss, item: str) -> Iterator[str]:
    """What the text of what to do vainly counts on; volts that are too few."""
    named, no_longer = named_in_effect(network, item), (*loss.lost, *loss.shed)
    for label, gone in counted_on_in_vain(named, no_longer, loss.not_powered):
        yield f"{label}: {join_words([network.names[i] for i in gone])}"
    if low := too_few_volts(PLAIN, network, loss, item):
        yield low


def _event_lines(network: Network, events: Iterable[Event], loss: Loss) -> Iterator[str]:
    for event in causes_first(events):
        causes = join_words([network.names[c] for c in event.causes])
        # What opens on a short has the short as its cause.
        overload = " by overload" if event.change in ("tripped", "blown") else ""
        volts = closing_volts(network, event, loss)
        because = f" because of {causes}{f' ({volts})' if volts else ''}" if causes else overload
        lasts = ", while the short held volts down; it stays so" if event.in_dip else ""
        yield f"  {event.step}. {network.names[event.id]}: {event.change}{because}{lasts}"
