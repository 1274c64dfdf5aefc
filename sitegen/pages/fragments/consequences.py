"""What follows from a failure, in the words and lists of its page.

Each list holds an item once, whatever number of views it shows in (`sitegen.pages.views`).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import reduce
from itertools import chain
from operator import or_

from markupsafe import Markup

from sitegen.answers.drop import is_fed
from sitegen.answers.indications import not_metered
from sitegen.answers.node_states import NodeState
from sitegen.answers.readings import may_change, reading_text
from sitegen.answers.switching_changes import switching_changes
from sitegen.catalogue.model import AnyOf, Indication, required_ids
from sitegen.pages.fragments.condition_states import power_state
from sitegen.pages.fragments.failure_view import View
from sitegen.pages.page_context import PageContext
from sitegen.pages.theme import macro
from sitegen.pages.views import (
    ShownIn,
    by_text,
    by_view,
    classes,
    items_with_classes,
    one_row_each,
    shown_in,
    subjects_together,
)
from sitegen.quantities import NO_BREAK
from sitegen.terminal.headline_text import no_longer_opens, sentences
from sitegen.terminal.shared_text import counted_on_in_vain, too_few_volts
from sitegen.words import counted, join_words

FEW = 2
"""Up to this many items that come on are named in the headline."""
ON_ONE_LINE = 2
"""More sentences than these are a line each."""


def other_effects(context: PageContext, view: View) -> Markup:
    """Whatever else is true: what comes on, what is driven, what a dip takes ..."""
    more = view.besides
    lines = []
    if more.comes_on and not view.loss.lost:
        lines = ["No item is lost."]
        if len(more.comes_on) <= FEW:
            more = replace(more, comes_on=())
    if view.all_on_battery:
        lines = [battery(context, view), *lines]
        more = replace(more, newly_on_battery=())
    lines = [*sentences(view.network, view.loss, more, view.normal), *lines]
    if len(lines) > ON_ONE_LINE:
        return macro("lines")(lines)
    return Markup(" ").join(Markup("{}").format(sentence) for sentence in lines)


def hazards_on(context: PageContext, view: View) -> Markup:
    """What can hurt someone at what comes on; of what fails, the page says it anyway."""
    failed = {component for component, _ in view.faults}
    ids = [i for i in view.loss.comes_on if i not in failed]
    return macro("hazards")(ids, view.network)


def reasons_on(context: PageContext, view: View) -> Iterator[Reason]:
    """For what comes on: what can hurt someone there, and what its author says to that."""
    network = context.answers.network
    for item in view.loss.comes_on:
        if item in network.hazards:
            yield item, "Hazard", Markup("{}.").format(network.hazards[item])
        text = network.equipment[item].if_it_comes_on
        if text:
            yield item, "", context.fragments.prose(text)


def dead_buses(context: PageContext, view: View) -> Markup:
    """The buses that drop."""
    now, was = view.loss.nodes, view.normal.nodes
    buses = [b.id for b in context.answers.network.catalogue.buses]
    dead = [b for b in buses if was[b].live and not now[b].live]
    if dead:
        return Markup("Without power: {}.").format(context.fragments.list(dead))
    if view.idle and not no_longer_opens(view.loss):
        return Markup("In this condition nothing changes.")
    return Markup("Every bus that was live stays live.")


def chatter(context: PageContext, view: View) -> Markup:
    """A warning where contactors never reach a steady state."""
    if not view.loss.chatter:
        return Markup("")
    return Markup(
        "Would chatter: {}. What closes such a device also opens it. It counts as open here; in"
        " the aircraft it may do anything."
    ).format(context.fragments.list(view.loss.chatter))


Reason = tuple[str, str, Markup]
"""Equipment, and a label and a text about why it is lost or reduced."""


def by_chapter(
    context: PageContext,
    lists: Sequence[Sequence[str]],
    reasons: Sequence[Iterable[Reason]],
    brief: bool = False,
    anew: Sequence[Collection[str]] = (),
) -> Iterator[tuple[str, str, Markup, Markup]]:
    """Rows of equipment under the titles of their ATA chapters: (title, classes, names, rows).

    The names are those of the rows, without links, for each view.

    Parameters
    ----------
    lists, reasons : by view.
    brief : rows with names only, without breakers and what to do.
    anew : by view, what was not in its list in an older revision.
    """
    masks, count = by_view(lists), len(lists)
    by_item: dict[str, list[tuple[tuple[str, Markup], int]]] = {}
    for (item, label, text), mask in by_view(reasons).items():
        by_item.setdefault(item, []).append(((label, text), mask))
    new_in = by_view(anew)
    shown = context.fragments.links if brief else context.fragments.rows
    for title, items in context.fragments.chapters.items():
        here = {item: masks[item] for item in items if item in masks}
        rows = [
            {
                "classes": classes(mask, count),
                "item": shown[item],
                "bar": classes(new_in[item], count) if item in new_in else None,
                # Where the whole row is hidden, its reasons need not be.
                "reasons": [
                    (line, classes(m | ~mask & (1 << count) - 1, count))
                    for line, m in by_item.get(item, ())
                ],
            }
            for item, mask in here.items()
        ]
        if rows:
            named = by_text(
                "span",
                [
                    Markup(", ").join(
                        context.fragments.name(item)
                        for item, mask in here.items()
                        if mask >> view & 1
                    )
                    for view in range(count)
                ],
                "named",
            )
            yield title, classes(reduce(or_, here.values()), count), named, macro("items")(rows)


def reasons_lost(context: PageContext, view: View) -> Iterator[Reason]:
    """For what is lost: what it depends on, though it has power; what its text vainly counts on."""
    network, fragments = context.answers.network, context.fragments
    off = frozenset(view.loss.not_powered)
    for item in view.loss.lost:
        named = fragments.named_in_effect[item]
        for label, gone in counted_on_in_vain(named, view.no_longer, off):
            yield item, label, Markup(f"{fragments.list(gone)}.")
        low = too_few_volts(NO_BREAK, network, view.loss, item)
        if low:
            yield item, "", Markup("{}.").format(low)
        equipment = network.equipment[item]
        fed = [is_fed(view.loss, c) for c in network.connections[item]]
        if equipment.requires and (all(fed) if equipment.needs == "all" else any(fed)):
            needed = fragments.list(r for r in required_ids(equipment) if r in view.no_longer)
            if needed:
                yield item, "", Markup(f"Has power, but depends on {needed}.")


def reasons_reduced(context: PageContext, view: View) -> Iterator[Reason]:
    """For what is reduced: the supplies and alternatives that it no longer has."""
    network, links = context.answers.network, context.fragments.links
    for item in view.loss.reduced:
        gone = [
            f"supply from {links[c.bus]}"
            for c in network.connections[item]
            if is_fed(view.normal, c) and not is_fed(view.loss, c)
        ]
        requires = network.equipment[item].requires
        alternatives = [i for r in requires if isinstance(r, AnyOf) for i in r.any]
        gone += [links[i] for i in alternatives if i in view.no_longer]
        if gone:
            yield item, "", Markup(f"Without {', '.join(gone)}.")
        low = too_few_volts(NO_BREAK, network, view.loss, item)
        if low:
            yield item, "", Markup("{}.").format(low)


def battery(context: PageContext, view: View) -> str:
    """How much is newly on battery only."""
    if view.all_on_battery:
        works = counted(len(view.loss.on_battery), "item")
        return f"Everything that still works, {works}, is now on battery only."
    newly = len(view.newly_on_battery)
    return f"{counted(newly, 'item')} now on battery only:" if newly else ""


def names(context: PageContext, lists: Sequence[Sequence[str]]) -> Markup:
    """Names of functions, then of items by chapter, in a running list, each in its views."""
    shown, links = dict(items_with_classes(lists)), context.fragments.links
    functions = (f.id for f in context.answers.network.catalogue.functions)
    ordered = chain(functions, *context.fragments.chapters.values())
    return macro("names")([(links[item], shown[item]) for item in ordered if item in shown])


def readings(context: PageContext, views: Sequence[View], changed: bool) -> ShownIn | None:
    """What each meter, lamp and flag shows that has changed, or that is not clearly different."""

    def shown(kind: str, indication: str, view: View) -> tuple[str, str] | None:
        now, was = view.loss.readings[indication], view.normal.readings[indication]
        text, before = reading_text(now, kind), reading_text(was, kind)
        differs = may_change(now, was)
        return (text, before) if differs == changed and (differs or text != before) else None

    def without(indication: Indication) -> str:
        network = context.answers.network
        past_it = [network.names[n] for n in not_metered(indication, network)]
        return f"without {join_words(past_it)}" if past_it else ""

    links = context.fragments.links
    rows = [
        ((links[i.id], without(i)), [shown(i.kind, i.id, view) for view in views])
        for i in context.answers.network.catalogue.indications
    ]
    in_views = [any(row[k] for _, row in rows) for k in range(len(views))]
    return shown_in(in_views, macro("readings")(one_row_each(rows)))


def unseen(context: PageContext, view: View) -> str:
    """The line shown where no reading changes, though the failure may matter."""
    now, was = view.loss.readings, view.normal.readings
    if not now or any(may_change(now[i], was[i]) for i in now):
        return ""
    if view.already:
        return "No reading changes."
    shows = "only what is lost" if view.loss.lost else "nothing here"
    if any(now[i].kind == "not known" != was[i].kind for i in now):
        shows = "nothing here surely"
    line = f"No meter, lamp or flag of the catalogue clearly changes: {shows} shows this failure."
    if view.loss.lost:
        line += " What a dead instrument shows is false: see Lost."
    shown = view.other.readings if view.other else was
    changing = sum(may_change(shown[i], was[i]) for i in now)
    if not changing:
        return line
    return f"{line} If contactors drop out, {changing} change{'s' if changing == 1 else ''}."


def moved(context: PageContext, view: View) -> list[tuple[str, str]]:
    """What opens or closes by itself, apart from what has failed."""
    return switching_changes(context.answers.network, view.loss, view.normal)


def moves(context: PageContext, by_each: Sequence[Sequence[tuple[str, str]]]) -> Markup:
    """The items of a list: each device that opens or closes, from what moves in each view."""
    links = context.fragments.links
    rows = items_with_classes(by_each)
    return macro("moves")([(links[device], move, where) for (device, move), where in rows])


def live(context: PageContext, views: Sequence[View]) -> Markup:
    """The buses that still have power, those with the same volts together."""

    def shown(state: NodeState) -> tuple[str, str] | None:
        return (NO_BREAK.volts(state.volts), power_state(state)) if state.live else None

    rows = [
        (context.fragments.links[bus.id], [shown(v.loss.nodes[bus.id]) for v in views])
        for bus in context.answers.network.catalogue.buses
    ]
    return macro("live_buses")(subjects_together(one_row_each(rows)))


def none_live(context: PageContext, view: View) -> str:
    """The line shown where no bus is live."""
    buses = context.answers.network.catalogue.buses
    return "" if any(view.loss.nodes[b.id].live for b in buses) else "No bus is live."


def left(context: PageContext, view: View) -> str:
    """How much still works."""
    before = len(view.normal.kept) + len(view.normal.reduced)
    return f"{len(view.left)} of {counted(before, 'item')} still work{'s' if before == 1 else ''}"


def unpowered(context: PageContext, view: View) -> str:
    """How much had no power to begin with."""
    number = len(view.loss.not_powered)
    return f"{counted(number, 'item')} without power in this condition anyway" if number else ""
