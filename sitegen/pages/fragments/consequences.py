"""What follows from a failure, in the words and lists of its page.

Each list holds an item once, whatever number of views it shows in (`sitegen.pages.views`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from markupsafe import Markup

from sitegen.answers.airframe_answers import is_fed
from sitegen.answers.drop import Loss
from sitegen.answers.readings import Reading, reads_the_same
from sitegen.answers.switching_changes import switching_changes
from sitegen.catalogue.model import AnyOf
from sitegen.pages.page_context import PageContext
from sitegen.pages.theme import macro
from sitegen.pages.views import by_view, classes, with_classes
from sitegen.quantities import NO_BREAK
from sitegen.solver.network import required_ids
from sitegen.solver.scenarios import Fault
from sitegen.words import counted


@dataclass(frozen=True)
class View:
    """One answer of the page, and the state of its condition before."""

    row: str
    """The mode or the stage."""
    condition: int
    """Its place in the author's order."""
    faults: tuple[Fault, ...]
    loss: Loss
    normal: Loss
    already: str
    """Why the failure makes no difference here; empty if it may."""

    @cached_property
    def newly_on_battery(self) -> tuple[str, ...]:
        """What is on battery only, and was not before."""
        before = set(self.normal.on_battery)
        return tuple(i for i in self.loss.on_battery if i not in before)

    @cached_property
    def left(self) -> tuple[str, ...]:
        """What still works."""
        return (*self.loss.kept, *self.loss.reduced)

    @property
    def all_on_battery(self) -> bool:
        """Everything that still works has come to be on battery only."""
        return bool(self.newly_on_battery) and len(self.loss.on_battery) == len(self.left)

    @property
    def no_longer(self) -> frozenset[str]:
        """What worked in the condition and does not now, lost or turned off."""
        return frozenset((*self.loss.lost, *self.loss.shed))

    @cached_property
    def gone(self) -> frozenset[str]:
        """What is lost, to be asked for item by item."""
        return frozenset(self.loss.lost)

    @cached_property
    def less(self) -> frozenset[str]:
        """What works with fewer supplies or alternatives, to be asked for item by item."""
        return frozenset(self.loss.reduced)

    @property
    def functions_touched(self) -> bool:
        """Some function has fewer providers than the condition left it."""
        return any(
            state != "kept" and state != self.normal.functions[f]
            for f, state in self.loss.functions.items()
        )

    @property
    def idle(self) -> bool:
        """Nothing is lost or reduced, and why is known."""
        return bool(self.already) and not self.loss.lost and not self.loss.reduced


def headline(context: PageContext, view: View) -> Markup:
    """How much is lost, in a few large words."""
    lost, off = len(view.loss.lost), len(view.loss.shed)
    nothing = view.already if view.idle and not off else "Nothing is lost"
    return macro("headline")(counted(lost, "item") if lost else "", off, nothing)


def dead_buses(context: PageContext, view: View) -> Markup:
    """The buses that drop."""
    now, was = view.loss.nodes, view.normal.nodes
    buses = [b.id for b in context.answers.network.catalogue.buses]
    dead = [b for b in buses if was[b].live and not now[b].live]
    if dead:
        return Markup("Without power: {}.").format(context.fragments.list(dead))
    if view.idle:
        return Markup("In this condition nothing changes.")
    return Markup("Every bus that was live stays live.")


def chatter(context: PageContext, view: View) -> Markup:
    """A warning where contactors never reach a steady state."""
    if not view.loss.chatter:
        return Markup("")
    return Markup(
        "{} would chatter: what closes it also opens it. It is counted as open here; in the"
        " aircraft it may do anything."
    ).format(context.fragments.list(view.loss.chatter))


@dataclass(frozen=True)
class FunctionLine:
    """A function that has fewer providers than the condition left it."""

    name: str
    spare: bool
    """It still works, with its last provider."""
    text: Markup
    essential: bool


def functions(context: PageContext, views: Sequence[View]) -> Markup:
    """The functions that are lost, then those with one provider left."""
    masks: dict[FunctionLine, int] = {}
    for k, view in enumerate(views):
        works, lost = {*view.loss.kept, *view.loss.reduced}, {*view.loss.lost}
        for function in context.answers.network.catalogue.functions:
            state = view.loss.functions[function.id]
            if state == "kept" or state == view.normal.functions[function.id]:
                continue
            left = context.fragments.list(p for p in function.provided_by if p in works)
            if state == "lost":
                # With no provider lost, it was the crew that ended it.
                ended = "lost" if lost.intersection(function.provided_by) else "turned off"
                text = Markup(f"{ended}; {left} alone is not enough" if left else ended)
            else:
                text = Markup(f"only {left} left")
            line = FunctionLine(function.name, state != "lost", text, function.essential)
            masks[line] = masks.get(line, 0) | 1 << k
    ordered = sorted(masks.items(), key=lambda item: item[0].spare)
    return macro("functions")([(line, classes(mask, len(views))) for line, mask in ordered])


Reasons = dict[str, dict[tuple[str, Markup], int]]
"""By equipment: a label and a text about it, with the mask of the views in which it holds."""


def by_chapter(
    context: PageContext, lists: Sequence[Sequence[str]], reasons: Reasons, brief: bool = False
) -> list[tuple[str, str, Markup]]:
    """Rows of equipment under the titles of their ATA chapters: (title, classes, rows)."""
    masks, count = by_view(lists), len(lists)
    found = []
    for title, items in context.fragments.chapters.items():
        rows, union = [], 0
        for item in items:
            mask = masks.get(item, 0)
            if not mask:
                continue
            union |= mask
            row = context.fragments.links[item] if brief else context.fragments.rows[item]
            here = [
                (text, classes(m | ~mask & (1 << count) - 1, count))
                for text, m in reasons.get(item, {}).items()
            ]
            rows.append({"classes": classes(mask, count), "item": row, "reasons": here})
        if rows:
            found.append((title, classes(union, count), macro("items")(rows)))
    return found


def reasons(context: PageContext, views: Sequence[View]) -> Reasons:
    """For what is lost: what it depends on, though it has power; what its text vainly counts on."""
    network, fragments, found = context.answers.network, context.fragments, Reasons()
    named = fragments.named_in_effect
    for k, view in enumerate(views):
        off = frozenset(view.loss.not_powered)
        for item in view.loss.lost:
            for title, unfit in (("Not working either", view.no_longer), ("Not on before", off)):
                gone = [i for i in named.get(item, ()) if i in unfit]
                if gone:
                    _add(found, item, title, f"{fragments.list(gone)}.", k)
            equipment = network.equipment[item]
            if not equipment.requires:
                continue
            fed = [is_fed(view.loss, c) for c in network.connections[item]]
            if not (all(fed) if equipment.needs == "all" else any(fed)):
                continue
            needed = [r for r in required_ids(equipment) if r in view.no_longer]
            _add(found, item, "", f"Has power, but depends on {fragments.list(needed)}.", k)
    return found


def without(context: PageContext, views: Sequence[View]) -> Reasons:
    """For what is reduced: the supplies and alternatives that it no longer has."""
    network, links, found = context.answers.network, context.fragments.links, Reasons()
    for k, view in enumerate(views):
        for item in view.loss.reduced:
            gone = [
                f"supply from {links[c.bus]}"
                for c in network.connections[item]
                if is_fed(view.normal, c) and not is_fed(view.loss, c)
            ]
            alternatives = [
                i for r in network.equipment[item].requires if isinstance(r, AnyOf) for i in r.any
            ]
            gone += [links[i] for i in alternatives if i in view.no_longer]
            _add(found, item, "", f"Without {', '.join(gone)}.", k)
    return found


def _add(found: Reasons, item: str, label: str, text: str, view: int) -> None:
    lines, line = found.setdefault(item, {}), (label, Markup(text))
    lines[line] = lines.get(line, 0) | 1 << view


def battery(context: PageContext, view: View) -> str:
    """How much is newly on battery only."""
    if view.all_on_battery:
        works = counted(len(view.loss.on_battery), "item")
        return f"Everything that still works, {works}, is now on battery only."
    newly = len(view.newly_on_battery)
    return f"{counted(newly, 'item')} now on battery only:" if newly else ""


def names(context: PageContext, lists: Sequence[Sequence[str]]) -> Markup:
    """Names in a running list, in the order of their chapters, each in the views that it is in."""
    masks, count, links = by_view(lists), len(lists), context.fragments.links
    return macro("names")(
        [
            (links[item], classes(masks[item], count))
            for items in context.fragments.chapters.values()
            for item in items
            if item in masks
        ]
    )


def readings(context: PageContext, views: Sequence[View], changed: bool) -> Markup:
    """What each meter, lamp and flag shows, where that has changed or where it has not."""
    rows: list[tuple[Markup, Reading, Reading | None, str]] = []
    count = len(views)
    for indication in context.answers.network.catalogue.indications:
        shown: dict[tuple[Reading, Reading], int] = {}
        for k, view in enumerate(views):
            now, was = view.loss.readings[indication.id], view.normal.readings[indication.id]
            if reads_the_same(now, was) != changed:
                shown[now, was] = shown.get((now, was), 0) | 1 << k
        for (now, was), mask in shown.items():
            name = context.fragments.links[indication.id]
            rows.append((name, now, was if changed else None, classes(mask, count)))
    return macro("readings")(rows)


def moved(context: PageContext, view: View) -> list[tuple[str, str]]:
    """What opens or closes by itself, apart from what has failed."""
    return switching_changes(context.answers.network, view.loss, view.normal)


def moves(context: PageContext, by_each: Sequence[Sequence[tuple[str, str]]]) -> Markup:
    """The items of a list: each device that opens or closes, from what moves in each view."""
    links, count = context.fragments.links, len(by_each)
    found: dict[tuple[str, str], int] = {}
    for k, here in enumerate(by_each):
        for move in here:
            found[move] = found.get(move, 0) | 1 << k
    return macro("moves")([(links[d], move, classes(m, count)) for (d, move), m in found.items()])


def live(context: PageContext, views: Sequence[View]) -> Markup:
    """The buses that still have power, each with its volts."""

    def shown(bus: str, view: View) -> tuple[str, str] | None:
        state = view.loss.nodes[bus]
        words = NO_BREAK.volts(state.volts), "battery" if state.battery else "live"
        return words if state.live else None

    rows = [
        (context.fragments.links[bus.id], volts, state, where)
        for bus in context.answers.network.catalogue.buses
        for (volts, state), where in with_classes([shown(bus.id, v) for v in views])
    ]
    return macro("live_buses")(rows, context.drawings.marks)


def none_live(context: PageContext, view: View) -> str:
    """The line shown where no bus is live."""
    buses = context.answers.network.catalogue.buses
    return "" if any(view.loss.nodes[b.id].live for b in buses) else "No bus is live."


def left(context: PageContext, view: View) -> str:
    """How much still works."""
    before = len(view.normal.kept) + len(view.normal.reduced)
    return f"{len(view.left)} of {counted(before, 'item')} still work"


def unpowered(context: PageContext, view: View) -> str:
    """How much had no power to begin with."""
    number = len(view.loss.not_powered)
    return f"{counted(number, 'item')} without power in this condition anyway" if number else ""
