"""Minutes on battery in random trees of buses, against a plain run with nothing but amps and hours.

Buses hang on each other by breakers and links, with generators, batteries and equipment on them.
All generators are lost. Batteries of one part of the tree share its load equally; the one that is
flat leaves it to the others. Each feeder carries what the part beyond it lacks or gives. What must
open by overload opens, the one furthest over its limit first, and the same is run again.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.endurance.results import Endurance
from sitegen.catalogue.model import Catalogue, OpensAt
from sitegen.solver.network import Network, build
from tests.nets import expand
from tests.random_nets import Raw
from tests.samples import sample_size

NETS = 1500
MAY, MUST = (Fraction(str(times)) for times in (OpensAt().may, OpensAt().must))
TOGETHER = Fraction(999, 1000)


@dataclass(frozen=True)
class Tree:
    """Numbers are those of buses."""

    buses: int
    feeders: dict[str, tuple[int, int, int | None]]
    """By device: the two buses, and the rating of a breaker in A, None of a link."""
    generators: tuple[int, ...]
    batteries: dict[int, int]
    """By bus: Ah."""
    items: tuple[tuple[int, int], ...]
    """(bus, A)."""

    def parts(self, closed: frozenset[str]) -> list[int]:
        """By bus, the lowest bus that it is connected to."""
        part = list(range(self.buses))
        for _ in range(self.buses):
            for device in closed:
                one, other, _ = self.feeders[device]
                part[one] = part[other] = min(part[one], part[other])
        return part

    def amps(
        self, closed: frozenset[str], sources: tuple[int, ...]
    ) -> tuple[dict[int, Fraction], dict[str, Fraction]]:
        """What each source gives, and what each closed device carries."""
        part = self.parts(closed)
        given = {source: Fraction() for source in sources}
        surplus = [Fraction()] * self.buses
        for bus, amps in self.items:
            sharing = [s for s in sources if part[s] == part[bus]]
            for source in sharing:
                given[source] += Fraction(amps, len(sharing))
                surplus[source] += Fraction(amps, len(sharing))
            surplus[bus] -= amps if sharing else 0
        carried = {}
        for device in closed:
            beyond = self.parts(closed - {device})
            end = self.feeders[device][1]
            carried[device] = abs(
                sum(surplus[b] for b in range(self.buses) if beyond[b] == beyond[end])
            )
        return given, carried

    def words(self, closed: frozenset[str], sources: tuple[int, ...]) -> dict[str, str]:
        """What must open by overload, and what may."""
        found = {}
        for device, amps in self.amps(closed, sources)[1].items():
            rating = self.feeders[device][2]
            if rating and amps >= rating * MAY:
                found[device] = "must" if amps >= rating * MUST else "may"
        return found

    def flat_at(self, closed: frozenset[str]) -> dict[int, Fraction]:
        """By battery that gives something: when it is flat, minutes; 75 % of its Ah count."""
        left = {b: Fraction(45 * hours) for b, hours in self.batteries.items()}
        minute, flat = Fraction(), dict[int, Fraction]()
        while True:
            given, _ = self.amps(closed, tuple(b for b in left if b not in flat))
            ends = {b: left[b] / amps for b, amps in given.items() if amps}
            if not ends:
                return flat
            step = min(ends.values())
            minute += step
            for battery, amps in given.items():
                left[battery] -= amps * step
                if amps and not left[battery]:
                    flat[battery] = minute

    def once_open(self) -> tuple[frozenset[str], set[str]]:
        """What stays closed when all that must open has opened, and what has."""
        closed, opened = frozenset(self.feeders), set[str]()
        normally = self.words(closed, self.generators)
        while True:
            carried = self.amps(closed, tuple(self.batteries))[1]
            words = self.words(closed, tuple(self.batteries))
            over = {
                device: carried[device] / (self.feeders[device][2] or 1)
                for device, word in words.items()
                if word == "must" and normally.get(device) != "must"
            }
            if not over:
                return closed, opened
            first = {d for d, times in over.items() if times >= TOGETHER * max(over.values())}
            closed, opened = closed - first, opened | first

    def network(self) -> Network:
        """The same for the package."""
        sources: Raw = {f"gen-{b}": 28 for b in self.generators}
        for bus, hours in self.batteries.items():
            sources[f"bat-{bus}"] = {"kind": "battery", "volts": 24, "amp-hours": hours}
        net = {
            "sources": sources,
            "buses": [f"bus-{b}" for b in range(self.buses)],
            "devices": {
                device: {"kind": "breaker", "amps": rating} if rating else "fuse-link"
                for device, (_, _, rating) in self.feeders.items()
            },
            "feeders": [
                *(f"{source} > bus-{source[4:]}" for source in sources),
                *(f"bus-{one} > {d} > bus-{end}" for d, (one, end, _) in self.feeders.items()),
            ],
            "equipment": {
                f"item-{k}": {"supplies": [{"bus": f"bus-{bus}"}], "amps": amps}
                for k, (bus, amps) in enumerate(self.items)
            },
        }
        asked = {"required-minutes": 30, "recognition-minutes": 0, "landing-minutes": 0}
        catalogue = {**expand(json.dumps(net)), "battery-time": asked}
        return build(Catalogue.model_validate(catalogue), "all")


def grown(seed: int) -> Tree:
    chance = random.Random(seed)
    buses = chance.randint(2, 5)
    feeders = {
        f"d-{end}": (chance.randrange(end), end, chance.choice([None, 10, 20, 30, 50]))
        for end in range(1, buses)
    }
    generators = tuple(b for b in range(buses) if chance.random() < 0.5)[:2] or (0,)
    at = [b for b in range(buses) if chance.random() < 0.5][:3] or [buses - 1]
    batteries = {b: chance.choice([5, 10, 20, 40]) for b in at}
    items = tuple(
        (chance.randrange(buses), chance.choice([1, 3, 6, 10, 15, 20, 30]))
        for _ in range(chance.randint(2, 6))
    )
    return Tree(buses, feeders, generators, batteries, items)


def total(one: Endurance | None) -> Fraction | None:
    minutes = one and one.total
    return None if minutes is None else Fraction(int(minutes.numerator), int(minutes.denominator))


def test_minutes_before_and_after_something_opens_are_as_a_plain_run_has_them() -> None:
    counts: Counter[str] = Counter()
    for seed in range(sample_size(NETS)):
        tree = grown(seed)
        network = tree.network()
        lost = [(f"gen-{b}", "lost") for b in tree.generators]
        found = {e.battery: e for e in battery_endurances(network, "flight", lost)}
        every = frozenset(tree.feeders)
        closed, opened = tree.once_open()
        before, after = tree.flat_at(every), tree.flat_at(closed)
        at_once = tree.words(every, tuple(tree.batteries))
        normally = tree.words(every, tree.generators)
        for bus in tree.batteries:
            one = found.get(f"bat-{bus}")
            if one is None:
                assert bus not in {*before, *after}, (seed, bus)
                continue
            assert total(one) == before.get(bus), (seed, bus)
            if opened:
                [then] = one.if_it_opens
                assert total(then) == after.get(bus), (seed, bus)
                counts["opens"] += 1
                counts["carries nothing then"] += bus not in after
            # What is no more over its limit than with nothing failed leaves the minutes certain.
            news = {d for d, word in at_once.items() if normally.get(d) not in ("must", word)}
            if news:
                assert one.verdict == "not-known", (seed, bus)
            counts["may open"] += "may" in {at_once[d] for d in news}
            counts["short"] += one.verdict == "short"
            counts["enough"] += one.verdict == "enough"
    seen = ("opens", "carries nothing then", "may open", "short", "enough")
    if sample_size(NETS) >= 300:
        assert all(counts[case] for case in seen), counts
