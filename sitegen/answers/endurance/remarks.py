"""What is said beside minutes on battery: what they assume, and what is lost before they end.

The minutes are those of answer 1, in which nothing opens by overload, with every battery at its
volts in the catalogue, as far as it plays a part which of them carries what. And the batteries'
volts go down: what needs more than the bottom of their `volts-range` does not last as long.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import Literal

from sitegen.answers.endurance.battery_load import Flat, Given, LoadShares, with_flat
from sitegen.answers.endurance.may_share import may_share
from sitegen.answers.endurance.results import Endurance
from sitegen.answers.loads.drawn import Draws, draws
from sitegen.answers.loads.range_end import ALL_LOW
from sitegen.answers.overload import Word, overloads_of, stuck_closed
from sitegen.solver.faults import run_stage
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome
from sitegen.solver.power import Power
from sitegen.solver.scenarios import union

ALL = ""
"""Every battery, in place of the id of one."""
End = Literal[0, 1]
"""Of a battery's range: its bottom, its top."""
Move = tuple[str, str]
"""(device, `opens` or `closes`)."""


@dataclass(frozen=True)
class Remarks:
    """Of the scenarios of a last stage: at once, or after the crew has acted."""

    outcome: Outcome
    earlier: Sequence[Outcome] = ()
    """The stages before it: what shares in them plays a part in the minutes too."""
    _when_flat: dict[tuple[str, ...], Remarks] = field(default_factory=dict)
    """By the batteries that are flat next."""
    _drawn: dict[str, Draws] = field(default_factory=dict)
    """By load column; under an empty one that of each condition."""
    _known_words: dict[int, dict[str, Word]] = field(default_factory=dict)
    """By state of these."""
    _shares: dict[tuple[int, str], LoadShares] = field(default_factory=dict)
    """By the state, and the battery that is left where all others are flat."""

    def on(self, endurances: Iterable[Endurance], scenario: int) -> tuple[Endurance, ...]:
        """The endurances of one scenario, by its number, with remarks."""
        found = []
        words = sorted(self._at_once(scenario).items())
        condition = self.outcome.scenarios.at(scenario).condition
        at_once = _worst(*(stage._words(scenario) for stage in self._before_acts))
        acted = [d for d, word in words if self.earlier and at_once.get(d) != word]
        normally = overloads_of(self.outcome.before).normally[condition] if words else {}
        for one in endurances:
            low, high = self._moves_of(one, scenario, 0), self._moves_of(one, scenario, 1)
            when_flat = self._opens_when_flat(one, scenario)
            in_landing = self._opens_in_landing(one, scenario, when_flat)
            found.append(
                replace(
                    one,
                    equally_charged=self._equally_charged(one, scenario),
                    still_closed=tuple(d for d, word in words if word == "must"),
                    by_acts=tuple(acted),
                    may_open=tuple(d for d, word in words if word == "may" and d not in normally),
                    moves_at_low_volts=low,
                    moves_at_high_volts=high,
                    moves_without_acts=any(of.moves(one, scenario) for of in self._before_acts),
                    opens_when_flat=when_flat,
                    opens_in_landing=tuple(sorted(in_landing)),
                    may_open_in_landing=tuple(
                        sorted(d for d, word in in_landing.items() if word == "may")
                    ),
                    lost_at_low_volts=self._lost_at_low_volts(one, scenario),
                )
            )
        return tuple(found)

    def _opens_when_flat(
        self, endurance: Endurance, scenario: int
    ) -> tuple[tuple[str, str, Word], ...]:
        """(device, battery, word): what must or may open once that is flat, and less so before."""
        found: dict[tuple[str, Word], str] = {}
        for flat in map(self._flat, endurance.at_any_volts):
            before: dict[str, Word] | None = None
            for number, together in enumerate(flat, 1):
                words = self._when(flat[:number])._words(scenario)
                if words:
                    before = self._at_once(scenario) if before is None else before
                    for device, word in _worse(words, before).items():
                        found.setdefault((device, word), together[-1])
                    before = _worst(before, words)
        return tuple(sorted((device, flat, word) for (device, word), flat in found.items()))

    def _opens_in_landing(
        self,
        endurance: Endurance,
        scenario: int,
        when_flat: Iterable[tuple[str, str, Word]],
    ) -> dict[str, Word]:
        """What must or may open with the landing's figures, with what is flat by then."""
        asked = endurance.asked
        if not asked.landing_column or not asked.landing_minutes:
            return {}
        words = _worst(
            *(
                self._when(flat[:number])._words(scenario, asked.landing_column)
                for one in endurance.at_any_volts
                if one.total is None or one.landing.minutes
                for flat in [self._flat(one)]
                for number in range(one.flat_before_landing, len(flat) + 1)
            )
        )
        if not words:
            return {}
        later: list[dict[str, Word]] = [{device: word} for device, _, word in when_flat]
        return _worse(words, _worst(self._at_once(scenario), *later))

    def _at_once(self, scenario: int) -> dict[str, Word]:
        """What is over its limit with no battery flat, in any stage."""
        return _worst(*(stage._words(scenario) for stage in (self, *self._before_acts)))

    def _words(self, scenario: int, column: str = "") -> dict[str, Word]:
        """What is over its limit, with nothing failed too: whether it must open, or may.

        `column`: with its figures, in place of those of each condition.
        """
        network = self.outcome.network
        overloads = overloads_of(self.outcome.before)
        if not overloads.limits:
            return {}
        if column not in self._drawn:
            after = self.outcome.after
            if column:
                steady = replace(after.steady, network=_in_column(network, column))
                after = Power(steady, after.shed)
            self._drawn[column] = draws(after)
        drawn = self._drawn[column]
        amps = drawn.states[drawn.number[scenario]]
        if id(amps) not in self._known_words:
            self._known_words[id(amps)] = overloads.words(amps)
        stuck = stuck_closed(self.outcome.scenarios.at(scenario).faults)
        return {d: w for d, w in self._known_words[id(amps)].items() if d not in stuck}

    def _when(self, flat: Flat) -> Remarks:
        """The same when these batteries are flat, each time from the state before that."""
        if not flat:
            return self
        together, *later = flat
        if together not in self._when_flat:
            self._when_flat[together] = Remarks(with_flat(self.outcome, together))
        return self._when_flat[together]._when(tuple(later))

    @staticmethod
    def _flat(endurance: Endurance) -> Flat:
        """The batteries that are flat before it."""
        return tuple(batteries for _, batteries in endurance.flat_together)

    def _by_what_is_flat(self, endurance: Endurance) -> Iterator[tuple[Remarks, bool]]:
        """One after the other, as long as a battery lasts; and whether its load changes later. Only
        the first where nothing goes by volts: then the others say the same.
        """
        if not self.outcome.network.goes_by_volts:
            yield self, False
            return
        for one in endurance.at_any_volts:
            flat, changing = self._flat(one), {other.battery for other in one.flat_before}
            for number in range(len(flat) + 1):
                later = [battery for together in flat[number:] for battery in together]
                yield self._when(flat[:number]), not changing.isdisjoint(later)

    def _equally_charged(self, endurance: Endurance, scenario: int) -> tuple[str, ...]:
        """The batteries that may share its load, or carry it, at some volts within the ranges,
        whatever is flat by then.
        """
        states = {
            flat[:number]
            for flat in map(self._flat, endurance.at_any_volts)
            for number in range(len(flat) + 1)
        }
        found = {
            battery
            for flat in states
            for pair, mask in self._when(flat)._may_share.items()
            if endurance.battery in pair and mask >> scenario & 1
            for battery in pair
        }
        others = (source for source in self.outcome.network.sources if source in found)
        return tuple(source for source in others if source != endurance.battery)

    @cached_property
    def _may_share(self) -> dict[tuple[str, str], int]:
        """By pair of batteries, in any stage: one carries load, and the other might."""
        stages = [may_share(stage) for stage in (self.outcome, *self.earlier)]
        return {pair: union(stage[pair] for stage in stages) for pair in stages[0]}

    @cached_property
    def _at_ends(self) -> tuple[dict[str, Power], dict[str, Power]]:
        """By battery that is not flat the same after it has gone to the bottom of its range, and to
        the top; under `ALL`, all.
        """
        return self._at_end(0), self._at_end(1)

    def _at_end(self, end: End) -> dict[str, Power]:
        power = self.outcome.after
        setting, positions = power.steady.setting, power.steady.positions
        moved = _with_batteries_at(self.outcome.network, end)
        left = [battery for battery in moved if setting.on_line.get(battery)]
        return {
            battery: Power(run_stage(moved[battery], setting, positions), power.shed)
            for battery in ([*left, ALL] if len(left) > 1 else left)
        }

    @cached_property
    def _no_longer_works(self) -> dict[str, dict[str, int]]:
        """By battery that is low, or `ALL`: by equipment that works, where it does not then."""
        works = self.outcome.after.works
        return {
            low: {i: works[i] & ~power.works[i] for i in sorted(works)}
            for low, power in self._at_ends[0].items()
        }

    def _lost_at_low_volts(self, endurance: Endurance, scenario: int) -> tuple[str, ...]:
        """What is lost as a battery's volts go down, whatever is flat by then."""
        lost = (
            stage._lost_with(endurance.battery, scenario)
            for stage, _ in self._by_what_is_flat(endurance)
        )
        return tuple(sorted(set().union(*lost)))

    def _lost_with(self, battery: str, scenario: int) -> set[str]:
        """What is lost as this battery's volts go down; of what only all of them together take,
        what it carries.
        """
        gone = {
            low: [i for i, mask in lost.items() if mask >> scenario & 1]
            for low, lost in self._no_longer_works.items()
        }
        by_one = {i for low, items in gone.items() if low != ALL for i in items}
        by_all = [i for i in gone.get(ALL, ()) if i not in by_one]
        theirs = {i for i in by_all if battery in self._carriers(scenario, i, by_all)}
        return {*gone.get(battery, ()), *theirs}

    @cached_property
    def _before_acts(self) -> list[Remarks]:
        return [Remarks(stage) for stage in self.earlier]

    def moves(self, endurance: Endurance, scenario: int) -> bool:
        """Whether anything moves within the batteries' ranges and changes this one's minutes."""
        low, high = self._moves_of(endurance, scenario, 0), self._moves_of(endurance, scenario, 1)
        return bool(low or high)

    def _moves_of(self, endurance: Endurance, scenario: int, end: End) -> tuple[Move, ...]:
        """What moves as the volts go down (0), or where they are higher (1), whatever is flat by
        then, and makes the minutes of this battery others.
        """
        found = {
            move
            for stage, load_changes in self._by_what_is_flat(endurance)
            for move in stage._moving(endurance.battery, scenario, end, load_changes)
        }
        order = {device: i for i, device in enumerate(self.outcome.network.switching)}
        return tuple(sorted(found, key=lambda move: (order[move[0]], move[1] == "closes")))

    def _moving(self, battery: str, scenario: int, end: End, load_changes: bool) -> set[Move]:
        """The same with no more batteries flat. What one battery by itself moves is not said again
        of all together.
        """
        moving = {
            low: {move for move, mask in moves.items() if mask >> scenario & 1}
            for low, moves in self._moves[end].items()
        }
        by_one = {m for low, moves in moving.items() if low != ALL for m in moves}
        found: set[Move] = set()
        for low, moves in moving.items():
            if moves and (load_changes or self._changes(battery, scenario, end, low)):
                new = moves - by_one if low == ALL else moves
                found |= new or (set() if found else moves)
        return found

    @cached_property
    def _moves(self) -> tuple[dict[str, dict[Move, int]], ...]:
        """At the bottom and at the top, by battery or `ALL`: what moves, in which scenarios."""
        now = self.outcome.after.steady.conducts
        return tuple(
            {
                low: {
                    (device, verb): mask
                    for device in self.outcome.network.switching
                    for there in [power.steady.conducts[device]]
                    for verb, mask in (
                        ("opens", now[device] & ~there),
                        ("closes", there & ~now[device]),
                    )
                    if mask
                }
                for low, power in at_end.items()
            }
            for at_end in self._at_ends
        )

    def _changes(self, battery: str, scenario: int, end: End, low: str) -> bool:
        """Whether a battery may last another time with what moves then.

        It does not where it feeds the same before and after, and no other battery plays a part in
        its minutes: none hands it a load when it is flat, before or after.
        """
        now, moved = self.outcome.after, self._at_ends[end][low]
        fed = self._fed_by(battery, scenario, end, now, alone=False)
        return any(
            fed != self._fed_by(battery, scenario, end, power, alone)
            for power, alone in ((moved, False), (now, True), (moved, True))
        )

    def _fed_by(
        self, battery: str, scenario: int, end: End, power: Power, alone: bool
    ) -> dict[str, Given]:
        """By equipment, what a battery gives of it; with `alone`, all the others flat."""
        key = id(power), battery if alone else ""
        if key not in self._shares:
            network = power.steady.network
            outcome = replace(self.outcome, network=network, after=power)
            if alone:
                sources = network.sources.values()
                others = [s.id for s in sources if s.kind == "battery" and s.id != battery]
                outcome = with_flat(outcome, others)
            self._shares[key] = LoadShares(outcome)
        place = frozenset(self.outcome.network.millivolt_ranges) if end else ALL_LOW
        return self._shares[key].of(scenario, place, ()).get(battery, {})

    def _carriers(self, scenario: int, item: str, lost: Container[str]) -> set[str]:
        """The sources that carry an item, or what is lost of what it requires."""
        network, power = self.outcome.network, self.outcome.after
        found = {
            source
            for connection, fed in zip(network.connections[item], power.fed[item], strict=True)
            if fed >> scenario & 1
            for source, mask in power.carriers[connection.bus].items()
            if mask >> scenario & 1
        }
        for requirement in network.equipment[item].requires:
            for other in [requirement] if isinstance(requirement, str) else requirement.any:
                if other in lost:
                    found |= self._carriers(scenario, other, lost)
        return found


def _worst(*words: Mapping[str, Word]) -> dict[str, Word]:
    """Of what must open in any of them, and else may."""
    found: dict[str, Word] = {}
    for some in words:
        found |= {device: word for device, word in some.items() if found.get(device) != "must"}
    return found


def _worse(words: Mapping[str, Word], known: Mapping[str, Word]) -> dict[str, Word]:
    """What is not known to be over its limit, or to have to open."""
    return {d: word for d, word in words.items() if known.get(d) not in ("must", word)}


@lru_cache(maxsize=4)
def _in_column(network: Network, column: str) -> Network:
    """The same wiring, with the figures of one load column in every condition."""
    conditions = [c.model_copy(update={"loads": column}) for c in network.catalogue.conditions]
    catalogue = network.catalogue.model_copy(update={"conditions": conditions})
    return replace(network, catalogue=catalogue)


@lru_cache(maxsize=8)
def _with_batteries_at(network: Network, end: int) -> dict[str, Network]:
    """By battery the airframe with it at the bottom (0) or top (1) of its range, and under `ALL`
    with all that have one; none where nothing goes by volts.
    """
    volts = {
        source: record.volts_range[end]
        for source, record in network.sources.items()
        if record.kind == "battery" and record.volts_range
    }
    if not volts or not network.goes_by_volts:
        return {}
    every = {**{source: {source: there} for source, there in volts.items()}, ALL: volts}
    return {name: network.at_volts(there) for name, there in every.items()}
