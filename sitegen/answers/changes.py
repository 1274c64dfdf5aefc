"""What a revision of a catalogue changes: in the records, and in the answers that follow.

The two are compared airframe by airframe, as fitted; what is the same on several airframes is
reported once, with their names.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations
from typing import Generic, TypeVar

from sitegen.answers.differences import wired_differently
from sitegen.answers.endurance.endurance_changes import EnduranceChange, endurance_changes
from sitegen.answers.failure_changes import (
    ConditionChange,
    Consequence,
    named_failure_changes,
    single_failure_changes,
)
from sitegen.answers.failure_groups import Case, Group, grouped
from sitegen.answers.rating_changes import RatingChange, rating_changes
from sitegen.answers.record_changes import (
    FieldChange,
    RecordChange,
    all_names,
    record_changes,
    records_of,
    table_changes,
    text_change,
)
from sitegen.answers.record_fields import WIRING, ChangeKind
from sitegen.answers.record_pairs import SECTIONS, renamed_ids
from sitegen.answers.single_failures import single_failures
from sitegen.answers.single_points import single_points
from sitegen.answers.three_answers import Answer
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.read import ReadResult
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import condition_states
from sitegen.solver.scenarios import Fault

T = TypeVar("T")

Point = tuple[str, tuple[str, ...], Fault, Answer, bool]
"""A function, two items of it or none, what takes it, the first answer in which it does, and
whether that is not known."""

OF_AIRFRAMES = (*SECTIONS, "conditions", "failures", "load-columns", "handout")
"""Sections that are compared as fitted to an airframe."""


ORDER = (
    "aircraft",
    "airframes",
    *OF_AIRFRAMES,
    "battery-time",
    "abbreviations",
    "accepted",
    "notes",
)
"""All sections, in the order of a report."""


NO_ANSWER = {"airframes", "panels", "handout", "abbreviations", "accepted", "notes"}
"""Sections on which no answer depends."""
NO_LOAD = {"indications", "functions"}
"""Sections on which no minute on battery depends: computing the minutes takes most of the time."""


@dataclass(frozen=True)
class On(Generic[T]):
    """Something that is true on some airframes."""

    what: T
    airframes: tuple[str, ...]
    """Ids of the newer revision; empty for what belongs to no airframe."""


@dataclass(frozen=True)
class SinglePointChange:
    """A single failure that takes a function, or both of two independent items, in one revision."""

    function: str
    items: tuple[str, ...]
    """The two items; empty when it is the function that is lost."""
    fault: Fault
    answer: Answer
    """The first in which it takes them."""
    not_known: bool
    """It may take them: AC sources that are not synchronised meet."""
    conditions: tuple[str, ...]
    is_new: bool
    """It takes them now; else it did."""


@dataclass(frozen=True)
class PairChange:
    """What two airframes differ in that were the same, and the other way round."""

    one: str
    other: str
    apart: tuple[tuple[str, str], ...]
    """(section, id) of what is not wired the same any more."""
    same: tuple[tuple[str, str], ...]
    """Of what is wired the same now."""


@dataclass(frozen=True)
class Changes:
    """What a revision changes. Ids are those of the newer; lists are in the order of reports."""

    old: Catalogue
    new: Catalogue
    networks: Mapping[str, tuple[Network, Network]]
    """By airframe of both: the older and the newer wiring."""
    records: tuple[On[RecordChange], ...]
    conditions: tuple[On[ConditionChange], ...]
    failures: tuple[On[Consequence], ...]
    ratings: tuple[On[RatingChange], ...]
    endurances: tuple[On[EnduranceChange], ...]
    single_points: tuple[On[SinglePointChange], ...]
    pairs: tuple[PairChange, ...]

    @property
    def nothing(self) -> bool:
        """Nothing is changed: perhaps the files, but not what they say."""
        return not self.records

    @property
    def same_revision(self) -> bool:
        """Something is changed and the revision has kept its name."""
        return bool(self.records) and self.old.aircraft.revision == self.new.aircraft.revision

    def of_airframe(self, airframe: str) -> Changes:
        """The same as far as it is about one airframe, or about none in particular."""

        def here(found: Iterable[On[T]]) -> tuple[On[T], ...]:
            return tuple(
                replace(of, airframes=(airframe,) * bool(of.airframes))
                for of in found
                if not of.airframes or airframe in of.airframes
            )

        return replace(
            self,
            networks={airframe: self.networks[airframe]},
            records=here(self.records),
            conditions=here(self.conditions),
            failures=here(self.failures),
            ratings=here(self.ratings),
            endurances=here(self.endurances),
            single_points=here(self.single_points),
            pairs=tuple(p for p in self.pairs if airframe in (p.one, p.other)),
        )

    @cached_property
    def failure_groups(self) -> list[Group[Consequence]]:
        """The failures by what they do otherwise, what takes most more first."""
        groups = grouped(
            (
                of.what.effect,
                of.what,
                Case(
                    of.what.fault,
                    of.what.condition,
                    of.airframes,
                    of.what.answer,
                    of.what.part_is_new,
                    of.what.after_crew,
                ),
            )
            for of in self.failures
        )
        return sorted(groups, key=lambda g: (-len(g.what.only_other), -len(g.what.only_one)))

    @cached_property
    def endurance_groups(self) -> list[Group[EnduranceChange]]:
        """The failures by battery and its minutes, the shortest first."""
        groups = grouped(
            (
                (of.what.battery, of.what.shown),
                of.what,
                Case(of.what.fault, of.what.condition, of.airframes),
            )
            for of in self.endurances
        )
        return sorted(groups, key=lambda g: g.what.minutes)

    @cached_property
    def point_groups(self) -> list[Group[SinglePointChange]]:
        """The single points of failure by what they take, the new ones first."""
        groups = grouped(
            (
                (of.what.is_new, of.what.function, of.what.items, of.what.not_known),
                of.what,
                Case(of.what.fault, condition, of.airframes, of.what.answer),
            )
            for of in self.single_points
            for condition in of.what.conditions
        )
        return sorted(groups, key=lambda g: not g.what.is_new)

    @cached_property
    def names(self) -> dict[str, str]:
        """What a person calls everything of the newer catalogue, and what is gone."""
        found: dict[str, str] = {}
        for old, new in self.networks.values():
            found = {**all_names(old), **found, **all_names(new)}
        for of in (self.old, self.new):
            found.update({a.id: a.name for a in of.airframes})
        return found


def changes(old: ReadResult, new: ReadResult) -> Changes:
    """Compare two revisions of a catalogue, both without errors."""
    assert old.catalogue is not None
    assert new.catalogue is not None
    one, other = old.catalogue, new.catalogue
    pairs = _airframes(one, other)
    networks = {now: (build(one, was), build(other, now)) for was, now in pairs.items()}
    ids = {now: renamed_ids(*both) for now, both in networks.items()}
    records: list[tuple[RecordChange, str]] = []
    conditions: list[tuple[ConditionChange, str]] = []
    failures: list[tuple[Consequence, str]] = []
    ratings: list[tuple[RatingChange, str]] = []
    endurances: list[tuple[EnduranceChange, str]] = []
    points: list[tuple[SinglePointChange, str]] = []
    general = [*_of_catalogue(one, other), *_of_notes(old, new)]
    for airframe, both in networks.items():
        found = record_changes(*both, OF_AIRFRAMES, ids[airframe])
        records += [(change, airframe) for change in found]
        follows = {r.section for r in (*general, *found) if r.kinds & WIRING} - NO_ANSWER
        if not follows:
            continue
        of_conditions, singles = single_failure_changes(*both, ids[airframe], revisions=True)
        conditions += [(change, airframe) for change in of_conditions]
        named = named_failure_changes(*both, ids[airframe])
        failures += [(change, airframe) for change in (*singles, *named)]
        if follows - NO_LOAD:
            lasting = endurance_changes(*both, ids[airframe])
            endurances += [(change, airframe) for change in lasting]
            over = rating_changes(*both, ids[airframe])
            ratings += [(change, airframe) for change in over]
        points += [(change, airframe) for change in _single_points(*both, ids[airframe])]
    records += _of_other_airframes(one, other, pairs, {(r.section, r.id) for r, _ in records})
    return Changes(
        one,
        other,
        networks,
        tuple(sorted((*(On(change, ()) for change in general), *_merged(records)), key=_order)),
        tuple(_merged(conditions)),
        tuple(_merged(failures)),
        tuple(_merged(ratings)),
        tuple(_merged(endurances)),
        tuple(_merged(points)),
        tuple(_pairs(networks, ids)),
    )


def _airframes(one: Catalogue, other: Catalogue) -> dict[str, str]:
    """New ids by old ones of the airframes of both: by id, else by name, else the only one."""
    new = {a.id: a.name for a in other.airframes}
    pairs = {a.id: a.id for a in one.airframes if a.id in new}
    for airframe in one.airframes:
        come = [i for i in new if i not in pairs.values()]
        same = [i for i in come if new[i] == airframe.name]
        if len(new) == len(one.airframes) == 1:
            same = come
        if airframe.id not in pairs and len(same) == 1:
            pairs[airframe.id] = same[0]
    return pairs


def _order(of: On[RecordChange]) -> int:
    return ORDER.index(of.what.section)


def _merged(found: Iterable[tuple[T, str]]) -> Iterator[On[T]]:
    """What is the same on several airframes, once."""
    by_change: dict[T, list[str]] = {}
    for change, airframe in found:
        by_change.setdefault(change, []).append(airframe)
    for change, airframes in by_change.items():
        yield On(change, tuple(airframes))


def _of_catalogue(one: Catalogue, other: Catalogue) -> Iterator[RecordChange]:
    """What a catalogue says once for all airframes."""
    yield from table_changes("aircraft", one.aircraft, other.aircraft, other.aircraft.name)
    yield from table_changes("battery-time", one.battery_time, other.battery_time, "Battery time")
    pairs = _airframes(one, other)
    old, new = ({a.id: a for a in c.airframes} for c in (one, other))
    for i, airframe in old.items():
        if i not in pairs:
            yield _whole("airframes", i, airframe.name, "removed")
        else:
            yield from table_changes("airframes", airframe, new[pairs[i]], new[pairs[i]].name)
    for i, airframe in new.items():
        if i not in pairs.values():
            yield _whole("airframes", i, airframe.name, "added")
    yield from _texts("abbreviations", one.abbreviations, other.abbreviations)
    was, now = ({f"{a.rule} {a.at}": a.reason for a in c.accepted} for c in (one, other))
    yield from _texts("accepted", was, now)


def _whole(section: str, name: str, title: str, kind: ChangeKind) -> RecordChange:
    return RecordChange(section, name, title, (FieldChange(kind, "", "", "", ""),))


def _of_notes(old: ReadResult, new: ReadResult) -> Iterator[RecordChange]:
    was, now = ({n.id: n.text for n in reading.notes} for reading in (old, new))
    titles = {n.id: n.title for reading in (old, new) for n in reading.notes}
    yield from _texts("notes", was, now, titles)


def _texts(
    section: str, was: Mapping[str, str], now: Mapping[str, str], titles: Mapping[str, str] = {}
) -> Iterator[RecordChange]:
    """Texts by id or by what they explain."""
    for name in dict.fromkeys((*was, *now)):
        title = titles.get(name, name)
        if name not in was or name not in now:
            yield _whole(section, name, title, "removed" if name in was else "added")
        elif was[name].split() != now[name].split():
            field = text_change("reworded", "text", was[name], now[name])
            yield RecordChange(section, name, title, (field,))


def _of_other_airframes(
    one: Catalogue, other: Catalogue, pairs: Mapping[str, str], known: set[tuple[str, str]]
) -> Iterator[tuple[RecordChange, str]]:
    """The records that only an airframe has which is new, or gone."""
    kinds: tuple[tuple[Catalogue, Catalogue, set[str], ChangeKind], ...] = (
        (other, one, set(pairs.values()), "added"),
        (one, other, set(pairs), "removed"),
    )
    for catalogue, elsewhere, compared, kind in kinds:
        if all(a.id in compared for a in catalogue.airframes):
            continue
        networks = [build(elsewhere, a.id) for a in elsewhere.airframes]
        there = {(r.section, r.id) for n in networks for r in records_of(n, OF_AIRFRAMES, kind)}
        for airframe in catalogue.airframes:
            if airframe.id not in compared:
                for record in records_of(build(catalogue, airframe.id), OF_AIRFRAMES, kind):
                    if (record.section, record.id) not in there | known:
                        yield record, airframe.id


def _single_points(
    one: Network, other: Network, ids: Mapping[str, str]
) -> Iterator[SinglePointChange]:
    def at(network: Network, of: Mapping[str, str]) -> dict[Point, tuple[str, ...]]:
        points = single_points(single_failures(network, condition_states(network)))
        found: dict[Point, tuple[str, ...]] = {}
        for w in (*points.essential, *points.independent):
            point = (
                of.get(w.function, w.function),
                tuple(of.get(i, i) for i in w.items),
                (of.get(w.by.fault[0], w.by.fault[0]), w.by.fault[1]),
                w.by.answer,
                w.by.not_known,
            )
            here = tuple(of.get(c, c) for c in w.by.conditions)
            found[point] = found.get(point, ()) + here
        return found

    was, now = at(one, ids), at(other, {})
    for key in dict.fromkeys((*now, *was)):
        before, after = was.get(key, ()), now.get(key, ())
        for mine, theirs, is_new in ((after, before, True), (before, after, False)):
            only = tuple(c for c in mine if c not in theirs)
            if only:
                yield SinglePointChange(*key, only, is_new)


def _pairs(
    networks: Mapping[str, tuple[Network, Network]], ids: Mapping[str, Mapping[str, str]]
) -> Iterator[PairChange]:
    """In what two airframes differ now and did not, and in what they did."""
    for a, b in combinations(networks, 2):
        of = {**ids[a], **ids[b]}
        was, now = (
            {
                (r.section, " > ".join(names.get(p, p) for p in r.id.split(" > "))): None
                for r in wired_differently(networks[a][k], networks[b][k])
            }
            for k, names in ((0, of), (1, {}))
        )
        apart = tuple(record for record in now if record not in was)
        same = tuple(record for record in was if record not in now)
        if apart or same:
            yield PairChange(a, b, apart, same)
