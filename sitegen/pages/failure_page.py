"""The page of a failure: this drops; what do I lose, and what is left?"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from markupsafe import Markup

from sitegen.answers.device_ends import by_hazard
from sitegen.answers.drop import Loss, faults_of
from sitegen.answers.loads.source_loads import LoadPair
from sitegen.answers.readings import may_change
from sitegen.catalogue.kinds import KINDS, MODE_NOUNS
from sitegen.catalogue.model import Failure
from sitegen.pages.drawings import LiveView
from sitegen.pages.fragments import consequences
from sitegen.pages.fragments.chain_of_events import chain
from sitegen.pages.fragments.component_facts import (
    Fact,
    component_facts,
    crew_acts,
    place_line,
)
from sitegen.pages.fragments.endurance_lines import EnduranceText, by_battery, endurances
from sitegen.pages.fragments.failure_loads import failure_loads, most_loaded
from sitegen.pages.fragments.failure_view import (
    CREW_HAS_ACTED,
    View,
    losses_before,
    stages_of,
    views_of_fault,
)
from sitegen.pages.fragments.function_lines import function_lines, function_lists
from sitegen.pages.fragments.large_headline import headline
from sitegen.pages.fragments.one_failure_more import one_failure_more
from sitegen.pages.fragments.other_answers import other_answers
from sitegen.pages.fragments.panel_map import failure_maps
from sitegen.pages.links import failure_page, named_failure_page
from sitegen.pages.page_context import PageContext, PageKind
from sitegen.pages.theme import macro
from sitegen.pages.views import Choice, ChoiceRow, ShownIn, by_text, shown_in, with_classes
from sitegen.solver.network import Component
from sitegen.terminal.endurance_text import once_open_text
from sitegen.terminal.headline_text import ASSUMED, in_few_words, on_a_button
from sitegen.terminal.load_text import FIGURES
from sitegen.words import counted, join_words

OPEN_WITH = 32
"""The most lost items whose list is open from the beginning; a longer one its reader unfolds."""

MOST_OPEN = 36
"""The most lost items and changed readings that are open together, for a page of six screens."""

LONG = 40
"""With more lost items in a view, the list is folded by chapter at a desk too."""


def _single(context: PageContext, known: Component) -> Mapping[str, Any]:
    answers, component = context.answers, known.id
    of_mode = {
        mode: views_of_fault(context, (component, mode), MODE_NOUNS[mode]) for mode in known.modes
    }
    # The page opens on a mode that makes a difference: a contactor that is open in every condition
    # can only weld.
    modes = sorted(of_mode, key=lambda mode: all(view.idle for view in of_mode[mode]))
    views = [view for mode in modes for view in of_mode[mode]]
    lasting = [context.endurances.of_single(v.faults[0], v.condition) for v in views]
    lasts = endurances(context, [v.loss for v in views], lasting)
    elsewhere = [_crew_elsewhere(context, view) for view in views]
    amps = [answers.single_loads[view.faults[0]][view.condition] for view in views]
    return {
        "place_line": place_line(context, component),
        "live_sides": list(by_hazard(answers.network, answers.live_sides.get(component, ()))),
        "facts": [
            *component_facts(context, component),
            *_named_with(context, component),
            *_how_long(context, component),
        ],
        "crew": by_text("p", elsewhere),
        "crew_in": shown_in(elsewhere, None),
        "endurances": lasts,
        **_minutes_in_answer(lasts, len(views)),
        **_loads(context, views, amps),
        **_answer(context, views),
    }


def _crew_elsewhere(context: PageContext, view: View) -> Markup:
    """Where it says what the crew does: on the page of the named failure that is this one alone,
    by its name too. A drill for smoke fails a part as well, and is not for the part that fails.
    """
    network = context.answers.network
    names = tuple(network.names[component].casefold() for component, _ in view.faults)
    named = [
        macro("link")(f.name, named_failure_page(f.id))
        for f in network.catalogue.failures
        if faults_of(network, f) == view.faults
        and f.crew_fields
        and f.name.casefold().startswith(names)
    ]
    return Markup("See {}.").format(Markup(" and ").join(named)) if named else Markup()


def _named_with(context: PageContext, component: str) -> Iterator[Fact]:
    """The named failures that this is a part of."""
    network = context.answers.network
    named = [
        macro("link")(f.name, named_failure_page(f.id))
        for f in network.catalogue.failures
        if component in {c for c, _ in faults_of(network, f)}
    ]
    if named:
        yield "In the named failures", Markup("; ").join(named)


def _how_long(context: PageContext, component: str) -> Iterator[Fact]:
    """Of a battery: after which named failures, in the first condition, how long it lasts."""
    answers = context.answers
    if answers.network.components[component].kind != "battery":
        return
    lasts = []
    for failure in answers.network.catalogue.failures:
        shown = endurances(
            context,
            [answers.named[failure.id][-1][0]],
            [context.endurances.of_named(failure, 0)],
            failure,
        )
        for one in shown.content if shown else ():
            if one.endurance.battery == component:
                link = macro("link")(failure.name, named_failure_page(failure.id))
                until = f" until {one.opens}" if one.opens else ""
                until += "".join(f", then {once_open_text(o)}" for o in one.endurance.if_it_opens)
                words = Markup("{} {}{}")
                lasts.append(words.format(link, one.in_short.replace(" ", "\u00a0"), until))
    if lasts:
        where = f"Lasts in {answers.conditions[0].name} after"
        yield where, Markup("; ").join(lasts)


def _named(context: PageContext, failure: Failure) -> Mapping[str, Any]:
    answers, links = context.answers, context.fragments.links
    network = answers.network
    faults = faults_of(network, failure)
    # Without crew actions in the catalogue there is one stage, and no need to name it.
    stages = stages_of(context, failure)
    views = [view for stage in stages for view in stage]
    fails = [
        Markup("{} ({})").format(links[c], MODE_NOUNS[mode].lower())
        if len(network.components[c].modes) > 1
        else links[c]
        for c, mode in faults
    ]
    facts: list[Fact] = [("Fails", Markup(", ").join(fails))]
    if failure.note:
        facts.append(("Note", context.fragments.prose(failure.note)))
    losses = [view.loss for view in views]
    # The endurances of a condition span both stages of what the crew does.
    lasting = [context.endurances.of_named(failure, v.condition) for v in views]
    at_once = [
        context.endurances.of_named_at_once(failure, v.condition) if v.then is None else lasted
        for v, lasted in zip(views, lasting, strict=True)
    ]
    amps = [
        answers.named_loads[failure.id][stage][view.condition]
        for stage, of_stage in enumerate(stages)
        for view in of_stage
    ]
    return {
        "live_sides": [],
        "facts": facts,
        "crew": _crew_notes(context, failure, views)
        + by_text("div", [crew_acts(context, failure, view.condition) for view in views]),
        "crew_in": None,
        "endurances": endurances(context, losses, lasting, failure),
        **_minutes_in_answer(endurances(context, losses, at_once, failure), len(views)),
        **_loads(context, views, amps),
        **_answer(context, views),
    }


def _minutes_in_answer(lasts: ShownIn | None, count: int) -> dict[str, Any]:
    """The minutes that are worth large type, those as with nothing failed, and those that come
    after what the crew does first.
    """
    rows: list[EnduranceText] = [row for row in (lasts.content if lasts else ()) if not row.ample]
    at_once = [row for row in rows if not row.after_crew]
    return {
        "lasting": list(by_battery([row for row in at_once if not row.as_before], count)),
        "as_before": [row for row in at_once if row.as_before],
        "after_crew": [row for row in rows if row.after_crew],
    }


def _loads(context: PageContext, views: Sequence[View], amps: Sequence[LoadPair]) -> dict[str, Any]:
    conditions = [view.condition for view in views]
    rows = failure_loads(context, amps, conditions)
    return {
        "loads": rows,
        "most_loaded": most_loaded(context, amps, conditions) if rows else "",
    }


def _crew_notes(context: PageContext, failure: Failure, views: Sequence[View]) -> Markup:
    """The author's text about what the crew does, in each view that of its condition."""
    conditions = context.answers.conditions
    notes = [failure.crew_note(conditions[view.condition].id) for view in views]
    return by_text("div", [context.fragments.prose(note) if note else "" for note in notes])


def _answer(context: PageContext, views: Sequence[View]) -> dict[str, Any]:
    """What the template shows of the views."""
    losses = [v.loss for v in views]
    lost, shed = [loss.lost for loss in losses], [loss.shed for loss in losses]
    by_row = groupby(views, lambda view: view.row)
    rows = [
        LiveView(of_row[0].faults, [v.then for v in of_row if v.then])
        for of_row in (list(found) for _, found in by_row)
    ]

    def in_each(tag: str, text: Callable[[PageContext, View], str], more: str = "") -> Markup:
        return by_text(tag, [text(context, view) for view in views], more)

    def names(lists: Sequence[Sequence[str]]) -> ShownIn | None:
        return shown_in(lists, consequences.names(context, lists))

    def chapters(
        lists: Sequence[Sequence[str]],
        reasons: Callable[[PageContext, View], Iterator[consequences.Reason]],
        brief: bool,
    ) -> ShownIn | None:
        in_each_view = [list(reasons(context, view)) for view in views]
        anew = [_anew(context, view) for view in views]
        rows = consequences.by_chapter(context, lists, in_each_view, brief, anew)
        return shown_in(lists, list(rows))

    was = losses_before(views)
    back = [_back(*pair) for pair in zip(views, was, strict=True)]
    unpowered = shown_in([loss.not_powered for loss in losses], "")
    functions = [list(function_lines(context, view)) for view in views]
    moved = [consequences.moved(context, view) for view in views]
    # Where all that works is on battery, one sentence says so and needs no list.
    on_battery = [() if v.all_on_battery else v.newly_on_battery for v in views]
    chains = [chain(context, *pair) for pair in zip(views, was, strict=True)]
    return {
        "chains": shown_in(chains, with_classes([steps or None for steps in chains])),
        "rows": _choices(context, views),
        "hazards_here": context.fragments.hazards(context.answers.network.hazards),
        "failed_components": dict.fromkeys(c for v in views for c, _ in v.faults),
        "headline": in_each("p", headline, "headline"),
        "elsewhere": by_text("p", list(_elsewhere(context, views)), "also"),
        "dead": in_each("p", consequences.dead_buses, "dead-buses"),
        "hazards_on": in_each("div", consequences.hazards_on),
        "chatter": in_each("p", consequences.chatter, "warning"),
        "other_effects": in_each("p", consequences.other_effects, "other-effects"),
        "one_failure_more": in_each("p", one_failure_more, "one-more"),
        "comes_on": chapters([x.comes_on for x in losses], consequences.reasons_on, True),
        "other_answers": list(other_answers(context, views)),
        "not_known": names([x.not_known for x in losses]),
        "functions": shown_in(functions, function_lists(functions)),
        "lost_opens": _open_in(len(items) <= OPEN_WITH for items in lost),
        "lost_is_long": max(len(items) for items in lost) > LONG,
        "see_opens": _open_in(_see_opens(view) for view in views),
        "lost": chapters(lost, consequences.reasons_lost, False),
        "reduced": chapters([x.reduced for x in losses], consequences.reasons_reduced, True),
        "battery": shown_in(
            [v.newly_on_battery for v in views], consequences.names(context, on_battery)
        ),
        "battery_line": in_each("p", consequences.battery),
        "panels": failure_maps(context, views),
        "readings": consequences.readings(context, views, changed=True),
        "not_clear": consequences.readings(context, views, changed=False),
        "unseen": in_each("p", consequences.unseen),
        "moves": shown_in(moved, consequences.moves(context, moved)),
        "none_live": in_each("p", consequences.none_live),
        "live": consequences.live(context, views),
        "caution_of_figures": FIGURES,
        "assumed": ASSUMED,
        "left_line": in_each("span", consequences.left),
        "back": names(back),
        "back_line": by_text("span", [_back_line(items) for items in back]),
        "turned_on": names([loss.turned_on for loss in losses]),
        "shed": shown_in(shed, by_text("span", [_shed_line(items) for items in shed])),
        "unpowered_line": in_each("span", consequences.unpowered),
        "unpowered": unpowered and unpowered.classes,
        "drawing": context.drawings.live(rows),
    }


def _back(view: View, was: Loss) -> list[str]:
    """What the failure took, and works again once the crew has acted."""
    works = frozenset(view.left)
    return [item for item in was.lost if item in works]


def _back_line(items: Sequence[str]) -> str:
    one = len(items) == 1
    return f"{counted(len(items), 'item')} {'works' if one else 'work'} again" if items else ""


def _shed_line(items: Sequence[str]) -> str:
    return f"{counted(len(items), 'item')} turned off, not lost" if items else ""


def _anew(context: PageContext, view: View) -> frozenset[str]:
    """What a failure takes or switches on that it did not in an older revision."""
    if context.revision is None:
        return frozenset()
    condition = context.answers.conditions[view.condition].id
    case = view.faults, condition, view.row == CREW_HAS_ACTED
    return context.revision.taken.get(case, frozenset())


def _elsewhere(context: PageContext, views: Sequence[View]) -> Iterator[Markup]:
    """By view in which the failure makes no difference: the conditions in which it makes one."""
    names = [condition.name for condition in context.answers.conditions]
    for here in views:
        links = [
            Markup('<a href="#view-{}">{}</a>').format(number, names[view.condition])
            for number, view in enumerate(views)
            if view.row == here.row and view.matters
        ]
        said = Markup("It makes a difference in {}.").format(Markup(join_words(links)))
        yield said if here.idle and links else Markup("")


def _open_in(views: Iterable[bool]) -> Markup:
    """The attributes of a fold that is open in some views; without scripts, as in the first."""
    numbers = [str(number) for number, is_open in enumerate(views) if is_open]
    begins = " open" if "0" in numbers else ""
    return Markup(f'{begins} data-open-in="{" ".join(numbers)}"')


def _see_opens(view: View) -> bool:
    """Whether what reads otherwise is open from the beginning: with a long open list it is not."""
    lost, changed = len(view.loss.lost), _changed(view)
    return changed <= OPEN_WITH // 3 and (lost > OPEN_WITH or lost + changed <= MOST_OPEN)


def _changed(view: View) -> int:
    """How many meters, lamps and flags read otherwise."""
    now, was = view.loss.readings, view.normal.readings
    return sum(may_change(now[i], was[i]) for i in now)


def _choices(context: PageContext, views: Sequence[View]) -> list[ChoiceRow]:
    rows: dict[str, list[Choice]] = {}
    for number, view in enumerate(views):
        first = in_few_words(view.loss) or view.already.lower() or "none lost"
        answer = on_a_button(first, view.loss, view.other)
        if view.loss.shed:
            answer += f", {len(view.loss.shed)} off"
        name = context.answers.conditions[view.condition].name
        rows.setdefault(view.row, []).append(Choice(number, name, answer))
    return [ChoiceRow(row if len(rows) > 1 else "", tuple(c)) for row, c in rows.items()]


def _names_in(found: Iterable[Loss]) -> set[str]:
    return set[str]().union(*(loss.names for loss in found))


NAMED: PageKind[Failure] = PageKind(
    template="failure",
    subjects=lambda context: context.answers.network.catalogue.failures,
    path=lambda failure: named_failure_page(failure.id),
    title=lambda failure: failure.name,
    kind=lambda context, failure: "Named failure",
    values=_named,
    depends_on=lambda context, failure: {
        f"failures {failure.id}",
        *_names_in(
            loss
            for stages in (context.answers.named, context.answers.named_dip)
            for stage in stages[failure.id]
            for loss in stage
        ),
    },
)
SINGLE: PageKind[Component] = PageKind(
    template="failure",
    subjects=lambda context: [context.answers.network.components[c] for c in context.answers.paged],
    path=lambda component: failure_page(component.id),
    title=lambda component: component.name,
    kind=lambda context, component: f"{KINDS[component.kind].noun}: if it fails",
    values=_single,
    depends_on=lambda context, component: _names_in(
        loss
        for mode in component.modes
        for found in (context.answers.single, context.answers.single_dip)
        for loss in found.get((component.id, mode), ())
    ),
)
