"""What every page of one airframe has in common: its frame, its caution, its links to others."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial, wraps
from typing import Any, Concatenate, Generic, ParamSpec, TypeVar
from weakref import WeakKeyDictionary

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.answers.differences import Differences, differences
from sitegen.answers.endurance.airframe_endurance import AirframeEndurance
from sitegen.answers.idle_acts import IdleActs, idle_acts
from sitegen.answers.named_differences import (
    functions_not_the_same,
    named_failures_not_the_same,
)
from sitegen.answers.unchecked import Unchecked, unchecked_of
from sitegen.catalogue.lines import CatalogueLine
from sitegen.catalogue.model import Airframe, Catalogue, Condition
from sitegen.pages.change_bars import Revision
from sitegen.pages.drawings import AirframeDrawings
from sitegen.pages.fragments.condition_states import StateRow, node_state
from sitegen.pages.fragments.names_and_rows import Fragments
from sitegen.pages.links import differences_page
from sitegen.pages.theme import fill
from sitegen.pages.views import Choice, ChoiceRow, by_answer, chosen_in, classes
from sitegen.solver.network import Network, build
from sitegen.words import day, join_words

S = TypeVar("S")
T = TypeVar("T")
P = ParamSpec("P")

MOST_COMPARED = 8
"""Of more airframes the command `differences` compares two that are asked for."""

BAR = " revised"
"""The class of what has changed since an older revision, to go after another class."""


@dataclass(frozen=True)
class Page:
    """A page to come: its path below the site, and what makes its text when its turn comes."""

    path: str
    make: Callable[[], str]


@dataclass(frozen=True, eq=False)
class PageContext:
    """One airframe's part of the site; equal only to itself, so that caches can key by it."""

    answers: AirframeAnswers
    fragments: Fragments
    drawings: AirframeDrawings
    paths: Mapping[str, frozenset[str]]
    """By airframe the files of its folder, for links from a page to the same of another."""
    paper: str | None = None
    """What handouts are printed on, if not on what the catalogue says."""
    revision: Revision | None = None
    """What has changed since an older revision, if one was named."""

    @cached_property
    def endurances(self) -> AirframeEndurance:
        """How long the batteries last in every failure."""
        return AirframeEndurance(self.answers)

    def with_links(self, resolve: Callable[[str], str | None]) -> PageContext:
        """The same with other links: `resolve` gives the link to write for a page, or None."""
        linked = replace(self, fragments=replace(self.fragments, resolve=resolve))
        vars(linked)["endurances"] = self.endurances
        vars(linked)["idle_acts"] = self.idle_acts
        return linked

    @cached_property
    def idle_acts(self) -> IdleActs:
        """Which of the crew's acts do nothing, by named failure and condition."""
        network = self.answers.network
        return idle_acts(network, network.catalogue.failures, self.answers.before)

    @cached_property
    def compared(self) -> list[Airframe]:
        """The other airframes, with which this one is compared; none where there are many."""
        every = self.answers.network.catalogue.airframes
        others = [a for a in every if a.id != self.answers.airframe.id]
        return others if len(every) <= MOST_COMPARED else []

    @cached_property
    def other_networks(self) -> dict[str, Network]:
        """By airframe with which this one is compared: its network."""
        catalogue = self.answers.reading.catalogue
        return {a.id: build(catalogue, a.id) for a in self.compared} if catalogue else {}

    @cached_property
    def differences(self) -> dict[str, Differences]:
        """By other airframe: how it differs from this one."""
        here = self.answers.network
        return {i: differences(here, network) for i, network in self.other_networks.items()}

    @cached_property
    def not_the_same(self) -> dict[str, frozenset[str]]:
        """By other airframe: the ids of what is wired otherwise, or fails or is lost otherwise."""
        return {
            i: frozenset(
                (
                    *(record.id for record in found.changed),
                    *(c.fault[0] for c in found.consequences),
                    *(item for c in found.consequences for ids in c.effect for item in ids),
                )
            )
            for i, found in self.differences.items()
        }

    @cached_property
    def named_not_the_same(self) -> dict[str, frozenset[str]]:
        """By other airframe: the named failures that are not the same on it."""
        others = self.other_networks.items()
        return {i: named_failures_not_the_same(self.endurances, network) for i, network in others}

    @cached_property
    def functions_not_the_same(self) -> dict[str, frozenset[str]]:
        """By other airframe: the functions that are not the same on it."""
        reading, others = self.answers.reading, self.other_networks
        return {
            i: functions_not_the_same(self.answers, AirframeAnswers(reading, network))
            for i, network in others.items()
        }

    def differs_on(self, airframe: str, about: str | None) -> bool:
        """Whether what a page is about is not the same on another airframe.

        Named failures and functions are compared when the first page of one asks.
        """
        catalogue = self.answers.network.catalogue
        if about in self.not_the_same.get(airframe, ()):
            return True
        if any(failure.id == about for failure in catalogue.failures):
            return about in self.named_not_the_same.get(airframe, ())
        if any(function.id == about for function in catalogue.functions):
            return about in self.functions_not_the_same.get(airframe, ())
        return False

    @cached_property
    def node_states(self) -> dict[str, list[StateRow]]:
        """By node its state in each condition with nothing failed."""
        return {
            node: [node_state(loss, node, self.fragments) for loss in self.answers.normal]
            for node in self.answers.network.nodes
        }

    def has(self, path: str) -> bool:
        """Whether the airframe's folder has this file."""
        return path in self.paths.get(self.answers.network.airframe, ())

    def checked(self, name: str) -> str:
        """Who has checked a component or an item; empty in a catalogue without checks."""
        catalogue_lines = self.answers.catalogue_lines
        if not catalogue_lines.has_checks:
            return ""
        of_it = [line for line in catalogue_lines.lines if line.record_id == name]
        by_words: dict[str, list[str]] = {}
        for line in of_it:
            by_words.setdefault(check_text(line), []).append(line.name)
        if len(by_words) == 1:
            return next(iter(by_words))
        return "; ".join(f"{', '.join(names)}: {words}" for words, names in by_words.items())

    def by_condition(self, answers: Sequence[str]) -> list[ChoiceRow]:
        """One row of views, a condition each, with the answer on its button."""
        named = enumerate(zip(self.answers.conditions, answers, strict=True))
        return [ChoiceRow("", tuple(Choice(i, c.name, answer) for i, (c, answer) in named))]

    def by_state(self, states: Sequence[StateRow]) -> dict[str, Any]:
        """The values of a page that opens with the state of its subject in each condition."""
        rows = []
        for state, mask in by_answer(states).items():
            names = [c.name for i, c in enumerate(self.answers.conditions) if mask >> i & 1]
            where = "Every condition" if len(names) == len(states) else join_words(names)
            rows.append((state, where, chosen_in(mask, len(states))))
        return {"rows": self.by_condition([state.word for state in states]), "states": rows}

    @cached_property
    def condition_classes(self) -> list[tuple[Condition, str]]:
        """Each condition, with the classes of what shows in it alone."""
        conditions = self.answers.conditions
        return [(c, classes(1 << i, len(conditions))) for i, c in enumerate(conditions)]

    @cached_property
    def lookups(self) -> dict[str, Any]:
        """What every template may look up: names by id, as links or plain, and author's text."""
        return {
            "marks": self.drawings.marks,
            "links": self.fragments.links,
            "failing": self.fragments.failing,
            "places": self.fragments.places,
            "link_list": self.fragments.list,
            "name_list": lambda ids: ", ".join(self.answers.network.names[i] for i in ids),
            "supply_place": self.fragments.supply,
            "rated": self.fragments.rated,
            "prose": self.fragments.prose,
            "hazard": self.fragments.hazard,
            "line_bar": lambda name: self._bar(lambda r: name in r.lines),
            "field_bar": lambda name, *fields: self._bar(lambda r: r.has(name, *fields)),
            "branch_bar": lambda branch: self._bar(lambda r: r.has_branch(branch)),
            "entry_bar": lambda href: self._bar(lambda r: href.partition("#")[0] in r.entries),
            "page_bar": lambda path: self._bar(lambda r: path in r.pages),
            "point_bar": lambda function, items: self._bar(lambda r: (function, items) in r.points),
            "taken_bar": lambda faults, c: self._bar(lambda r: (faults, c, False) in r.taken),
            "revised_lines": self.revision.lines if self.revision else (),
            "since": self.revision.since if self.revision else "",
            "cause_bar": lambda item, cause: self._bar(lambda r: (item, cause) in r.causes),
            "network": self.answers.network,
        }

    def _bar(self, is_changed: Callable[[Revision], bool]) -> str:
        """The class of what has changed since an older revision; else empty."""
        return BAR if self.revision and is_changed(self.revision) else ""

    def fill(
        self,
        template: str,
        path: str,
        title: str,
        kind: str,
        values: Mapping[str, Any],
        about: str | None = None,
        unchecked: Unchecked | None = None,
    ) -> str:
        """A page's text.

        Parameters
        ----------
        template : the template's name.
        path : the page's path in the airframe's folder.
        title : what the page is about; a plain text.
        kind : what kind of page it is, in a word or two.
        values : what the template needs: `rows`, the views to choose from, if there are several,
            and the page's own.
        about : the id of what the page is about, if it is about one record.
        unchecked : how many of the lines that the page depends on are not checked.
        """
        rows: Sequence[ChoiceRow] = values.get("rows", ())
        here = self.answers.airframe
        others = [
            {
                "name": a.name,
                "href": f"../{a.id}/{path}",
                "differs": differences_page(a.id) if self.differs_on(a.id, about) else None,
            }
            for a in self.answers.network.catalogue.airframes
            if a.id != here.id and path in self.paths.get(a.id, ())
        ]
        catalogue = self.answers.network.catalogue
        return fill(
            template,
            {
                **frame(catalogue),
                "top": "../",
                "airframe": here.name,
                "title": title,
                "kind": kind,
                "unchecked": unchecked,
                "others": others,
                "rows": rows,
                "view_count": sum(len(row.choices) for row in rows),
                "revised_page": self.lookups["page_bar"](path),
                **self.lookups,
                **values,
            },
        )


def once_per_context(
    answer: Callable[Concatenate[PageContext, P], T],
) -> Callable[Concatenate[PageContext, P], T]:
    """Compute an answer once for all pages of an airframe; it is forgotten with their context."""
    known: WeakKeyDictionary[PageContext, dict[Any, T]] = WeakKeyDictionary()

    @wraps(answer)
    def once(context: PageContext, /, *of: P.args, **named: P.kwargs) -> T:
        answers = known.setdefault(context, {})
        key = (of, tuple(named.items()))
        if key not in answers:
            answers[key] = answer(context, *of, **named)
        return answers[key]

    return once


def frame(catalogue: Catalogue) -> dict[str, Any]:
    """What every page of a site has: the aircraft, the revision and the caution."""
    aircraft = catalogue.aircraft
    revised = day(aircraft.revised)
    return {
        "serials": any(a.serials for a in catalogue.airframes),
        "aircraft": aircraft.name,
        "map_title": aircraft.title,
        "revision": aircraft.revision,
        "revised": revised,
        "statement": aircraft.statement,
        "unchecked": None,
        "caution": (
            f"A study aid, computed from revision {aircraft.revision} of {revised} of this"
            " catalogue. The aircraft's approved manuals and local rules come first; work on"
            " aircraft electrics is for licensed people."
        ),
    }


def check_text(line: CatalogueLine) -> str:
    """Who checked a line, when and against what."""
    checked = line.checked
    if checked is None:
        return "not yet"
    against = f", against {checked.against}" if checked.against else ""
    return f"{checked.by}, {day(checked.on)}{against}"


def one_page(context: PageContext) -> Iterable[None]:
    """The subjects of a kind of page of which an airframe has one."""
    return [None]


@dataclass(frozen=True)
class PageKind(Generic[S]):
    """One kind of page: which pages of it an airframe has, and what its template shows."""

    template: str
    subjects: Callable[[PageContext], Iterable[S]]
    """What the pages are about: buses, functions ..., or None where there is one page."""
    path: Callable[[S], str]
    """The page's path in the airframe's folder."""
    title: Callable[[S], str]
    kind: Callable[[PageContext, S], str]
    """What kind of page it is, in a word or two."""
    values: Callable[[PageContext, S], Mapping[str, Any]]
    """What the template needs (`PageContext.fill`)."""
    depends_on: Callable[[PageContext, S], Iterable[str] | None] = lambda context, subject: None
    """What the page names, as `AirframeLines.needed_for` takes it; None for all that there is, and
    nothing for a page without an answer."""

    def pages(self, context: PageContext) -> list[Page]:
        """The pages of one airframe, each made when its turn comes."""
        folder = context.answers.airframe.id
        return [
            Page(f"{folder}/{self.path(subject)}", partial(self._text, context, subject))
            for subject in self.subjects(context)
        ]

    def _text(self, context: PageContext, subject: S) -> str:
        names = self.depends_on(context, subject)
        names = names if names is None else set(names)
        says = names is None or names
        return context.fill(
            self.template,
            self.path(subject),
            self.title(subject),
            self.kind(context, subject),
            self.values(context, subject),
            getattr(subject, "id", None),
            unchecked_of([context.answers.catalogue_lines], names) if says else None,
        )


@dataclass(frozen=True)
class DataFile:
    """A file in an airframe's folder that is no page: a table, or what a script reads."""

    path: str
    text: Callable[[PageContext], str]
    subjects: Callable[[PageContext], Iterable[object]] = one_page
    """Empty where the airframe does not have the file."""

    def pages(self, context: PageContext) -> list[Page]:
        """The one file, or none."""
        path = f"{context.answers.airframe.id}/{self.path}"
        return [Page(path, partial(self.text, context)) for _ in self.subjects(context)]
