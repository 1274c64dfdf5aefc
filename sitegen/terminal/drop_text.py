"""What a failure takes, as text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sitegen.answers.drop import Loss
from sitegen.answers.readings import reads_the_same
from sitegen.answers.switching_changes import switching_changes
from sitegen.catalogue.model import Failure
from sitegen.solver.network import Network
from sitegen.terminal.shared_text import CAUTION, fault_text, heading, in_words, place_text, section


def loss_text(
    network: Network, loss: Loss, normal: Loss, named: Failure | None, after: bool
) -> Iterator[str]:
    """What a failure takes, line by line.

    Parameters
    ----------
    network, loss : the airframe and what is lost.
    normal : the same condition with nothing failed, to say which readings changed.
    named : the named failure, if it is one.
    after : the crew has acted.
    """
    names = network.names
    yield heading(network, loss.condition)
    title = named.name if named else ", ".join(fault_text(network, *f) for f in loss.failed)
    yield f"{title}{', after the crew has acted' if after else ''}"
    if after and named and named.then and named.then.note:
        yield f"  Crew: {in_words(named.then.note)}"
    yield ""
    if loss.chatter:
        yield f"These contactors chatter: {', '.join(names[d] for d in loss.chatter)}."
        yield "They count as open here; in the aircraft they may do anything."
    working = len(normal.kept) + len(normal.reduced)
    if loss.lost:
        yield f"You lose {len(loss.lost)} of {working} working items."
    else:
        yield f"You lose nothing: all {working} working items still work."
    dead = [n for n in loss.nodes if normal.nodes[n].live and not loss.nodes[n].live]
    if dead:
        yield f"Without power: {', '.join(names[n] for n in dead)}."
    yield from _items(network, "Lost", loss.lost, with_effect=True)
    yield from _items(network, "Reduced: works, but a supply or alternative is gone", loss.reduced)
    yield from _items(network, "Turned off by the crew", loss.shed)
    battery = [e for e in loss.on_battery if e not in normal.on_battery]
    yield from _items(network, "Now on battery only", battery)
    if normal.on_battery and loss.on_battery:
        yield f"\nOn battery only in this condition: {len(loss.on_battery)} items."
    states = {"lost": "lost", "one-left": "nothing to spare"}
    function_lines = [
        f"  {names[f]}: {states[state]}"
        for f, state in loss.functions.items()
        if state != "kept" and state != normal.functions[f]
    ]
    yield from section("Functions", function_lines)
    reading_lines = [
        f"  {names[i]}: {reading} (was {normal.readings[i]})"
        for i, reading in loss.readings.items()
        if not reads_the_same(reading, normal.readings[i])
    ]
    yield from section("Readings that change (loads: by more than 5)", reading_lines)
    changes = switching_changes(network, loss, normal)
    moved = [f"  {names[device]} {change}" for device, change in changes]
    yield from section("What opens or closes", moved)
    live = [
        f"{names[n]} {s.volts:g} V{' (battery)' if s.battery else ''}"
        for n, s in loss.nodes.items()
        if s.live and n not in network.sources
    ]
    yield f"\nStill live: {', '.join(live) or 'nothing'}."
    yield f"Still working: {len(loss.kept) + len(loss.reduced)} items."
    if loss.not_powered:
        yield f"Not powered in this condition anyway: {len(loss.not_powered)} items."
    yield f"\n{CAUTION}"


def _items(
    network: Network, title: str, items: Iterable[str], with_effect: bool = False
) -> Iterator[str]:
    lines = []
    for item in sorted(items, key=lambda e: (network.equipment[e].ata, e)):
        equipment = network.equipment[item]
        places = "; ".join(place_text(network, c) for c in network.connections[item])
        lines.append(f"  {equipment.ata:<8} {equipment.name}  [{places}]")
        if with_effect and equipment.on_loss:
            lines.append(f"           {in_words(equipment.on_loss)}")
    yield from section(title, lines)
