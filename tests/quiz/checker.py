"""Whether a question's one right choice is right, and its wrong ones wrong, by the plain solver.

It reads a question as `quiz --json` prints it and the catalogue as YAML gives it, and asks
`tests/plain.py`, one scenario at a time. Nothing of the package is called.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from functools import cached_property
from typing import Any

from tests import plain
from tests.plain import Fault, Raw

VOLTS_OFF, SHARE_OFF = 1.5, 0.05
"""A voltmeter may be off by this much. Common practice, no source."""


def words(text: str) -> str:
    """A text as its words, between blanks."""
    return " " + " ".join(re.findall(r"[^\W_]+", text.lower())) + " "


class Airframe:
    """One airframe as the plain solver has it; solved scenarios are kept."""

    def __init__(self, catalogue: Raw, airframe: str) -> None:
        self.catalogue, self.id = catalogue, airframe
        self.sections = plain.fitted(catalogue, airframe)
        self.failures = {f["id"]: f for f in self.fitted("failures")}
        self.kept: dict[Any, plain.Scenario] = {}
        self.losses: dict[Any, Raw] = {}
        self.working: dict[Any, set[str]] = {}
        self.ends: dict[Any, float | None] = {}

    def fitted(self, section: str) -> list[Raw]:
        records = self.catalogue.get(section, [])
        return [r for r in records if self.id in r.get("fitted-to", [self.id])]

    @cached_property
    def names(self) -> dict[str, str]:
        sections = ("sources", "buses", "devices", "equipment", "indications", "functions")
        return {r["id"]: r["name"] for section in sections for r in self.fitted(section)}

    @cached_property
    def every_fault(self) -> list[Fault]:
        return plain.every_fault(self.catalogue, self.id)

    def before(self, condition: str) -> plain.Scenario:
        if condition not in self.kept:
            self.kept[condition] = plain.settled_condition(self.catalogue, condition, self.id)
        return self.kept[condition]

    def after(
        self, condition: str, failed: Iterable[Fault], failure: str | None = None
    ) -> plain.Scenario:
        """With these failed; with a named failure, once the crew has acted on it."""
        key = (condition, frozenset(failed), failure)
        if key not in self.kept:
            before = self.before(condition)
            if failure is None:
                self.kept[key] = plain.after_failure(before, key[1])
            else:
                named = self.failures[failure]
                then = named.get("then-in", {}).get(condition, named.get("then", {}))
                self.kept[key] = plain.after_crew(before, self.after(condition, failed), then)
        return self.kept[key]

    def loss(self, condition: str, failed: Iterable[Fault], failure: str | None = None) -> Raw:
        key = (condition, frozenset(failed), failure)
        if key not in self.losses:
            self.losses[key] = plain.compare(self.before(condition), self.after(*key))
        return self.losses[key]

    def works(self, condition: str, failed: Iterable[Fault] = ()) -> set[str]:
        key = (condition, frozenset(failed))
        if key not in self.working:
            scenario = self.after(*key) if key[1] else self.before(condition)
            self.working[key] = {item for item, works in scenario.works().items() if works}
        return self.working[key]

    def reads(self, condition: str, failed: Iterable[Fault], indication: str) -> str:
        record = next(i for i in self.sections["indications"] if i["id"] == indication)
        scenario = self.after(condition, failed)
        if record["kind"] != "loadmeter":
            return scenario.reading(record)
        if record.get("supplies") and not any(scenario.fed(indication)):
            return "blank"
        column = next(c for c in self.sections["conditions"] if c["id"] == condition).get("loads")
        amps = self.gives(scenario, record["at"], column)
        rated = next(s for s in self.sections["sources"] if s["id"] == record["at"]).get("amps")
        return f"{amps * 100 / rated:.1f} %" if rated else f"{amps:.1f} A"

    def kind(self, indication: str) -> str:
        return next(str(i["kind"]) for i in self.sections["indications"] if i["id"] == indication)

    def protectors(self, item: str) -> list[tuple[str, str, str]]:
        """(bus, panel, place) of each supply that has a place."""
        record = next(e for e in self.fitted("equipment") if e["id"] == item)
        shared = {d["id"]: d for d in self.sections["devices"]}
        placed = []
        for supply in record["supplies"]:
            if self.id not in supply.get("fitted-to", [self.id]):
                continue
            written = supply.get("breaker") or supply.get("fuse") or {}
            device = shared[written] if isinstance(written, str) else written
            if device.get("panel") and device.get("at"):
                placed.append((supply["bus"], device["panel"], device["at"]))
        return placed

    # Batteries

    def minutes(self, condition: str, failure: str | None, battery: str) -> float | None:
        """When a battery is flat: minutes from the failure, in three stages."""
        key = (condition, failure, battery)
        if key not in self.ends:
            # A battery whose volts may be anything in a range is judged by the worse end.
            ends = [self.flat(condition, failure, battery, end) for end in (0, 1)]
            self.ends[key] = min((end for end in ends if end is not None), default=None)
        return self.ends[key]

    def flat(
        self, condition: str, failure: str | None, battery: str, end_of_range: int
    ) -> float | None:
        named = self.failures.get(failure or "", {})
        failed = faults_of(self, named)
        batteries = {s["id"]: s for s in self.sections["sources"] if s["kind"] == "battery"}
        flat: list[tuple[str, float]] = []
        while True:
            ends = {
                b: self.flat_at(
                    condition, failed, failure, batteries[b], flat, end_of_range, batteries[battery]
                )
                for b in batteries
                if b not in dict(flat)
            }
            known = {b: end for b, end in ends.items() if end is not None}
            if not known:
                return None
            first = min(known, key=lambda b: (known[b], b))
            if first == battery:
                return known[first]
            flat.append((first, known[first]))

    def flat_at(
        self,
        condition: str,
        failed: frozenset[Fault],
        failure: str | None,
        battery: Raw,
        flat: list[tuple[str, float]],
        end_of_range: int,
        asking: Raw,
    ) -> float | None:
        """When a battery is flat in the time of the one that is asked about, which lands last."""
        named = self.failures.get(failure or "", {})
        record = next(c for c in self.sections["conditions"] if c["id"] == condition)
        asked = {
            "recognition-minutes": 5,
            "landing-minutes": 10,
            **self.catalogue.get("battery-time", {}),
            **asking.get("battery-time", {}),
            **(own if isinstance(own := record.get("battery-time", {}), dict) else {}),
            **named.get("battery-time", {}),
        }
        if asking is not battery:
            asked["landing-minutes"] = 0
        landing = asked.get("landing-column") or record.get("loads")
        begins = [(0.0, frozenset[str]())]
        for number, (_, minute) in enumerate(flat, 1):
            begins.append((minute, frozenset(b for b, _ in flat[:number])))
        rates = []
        acted = failure if named.keys() & {"then", "then-in"} else None
        for _, gone in begins:
            lost = failed | {(b, "lost") for b in gone}
            at_once = self.after(condition, lost)
            crew = self.after(condition, failed, acted) if acted else self.after(condition, failed)
            if gone:
                crew = plain.after_failure(crew, lost)
            rates.append(
                (
                    self.gives(at_once, battery["id"], record.get("loads"), end_of_range),
                    self.gives(crew, battery["id"], record.get("loads"), end_of_range),
                    self.gives(crew, battery["id"], landing, end_of_range),
                )
            )
        capacity = battery["amp-hours"] * battery.get("usable", 0.75) * 60

        def used(end: float) -> float:
            total = 0.0
            shed = min(asked["recognition-minutes"], end)
            land = max(shed, end - asked["landing-minutes"])
            for k, (begin, _) in enumerate(begins):
                until = begins[k + 1][0] if k + 1 < len(begins) else end
                for rate, start, stop in zip(
                    rates[k], (0.0, shed, land), (shed, land, end), strict=True
                ):
                    total += rate * max(0.0, min(until, stop) - max(begin, start))
            return total

        low, high = 0.0, 100_000.0
        if used(high) < capacity or not any(any(r) for r in rates):
            return None
        for _ in range(80):
            middle = (low + high) / 2
            low, high = (low, middle) if used(middle) >= capacity else (middle, high)
        return high

    def gives(
        self,
        scenario: plain.Scenario,
        battery: str,
        column: str | None,
        end_of_range: int | None = None,
    ) -> float:
        """Amps from a battery where no machine helps, or from a machine.

        With the batteries at one end of their `volts-range`, where one is asked for.
        """
        sources = {s["id"]: s for s in self.sections["sources"]}

        def moved(source: str) -> float:
            if end_of_range is None or "volts-range" not in sources[source]:
                return 0.0
            return float(sources[source]["volts-range"][end_of_range] - sources[source]["volts"])

        def volts_there(node: str) -> float:
            return max(
                (scenario.reached[s][node] / 1000 + moved(s) for s in carriers(node)),
                default=volts(node),
            )

        def volts(node: str) -> float:
            return scenario.millivolts(node) / 1000

        def highest(nodes: list[str]) -> list[str]:
            most = max((volts(n) for n in nodes), default=0)
            return [n for n in nodes if volts(n) == most]

        def inputs(converter: str) -> list[str]:
            return [
                f["bus"] for f in plain._feeds(sources[converter]) if scenario.feeds_converter(f)
            ]

        def carriers(node: str) -> list[str]:
            return [
                s
                for s, nodes in scenario.reached.items()
                if node in nodes and max(0, nodes[node]) == scenario.millivolts(node)
            ]

        def helped(node: str) -> bool:
            """A machine carries a part of what is drawn here."""
            return any(
                any(helped(i) for i in inputs(s))
                if sources[s]["kind"] == "converter"
                else sources[s]["kind"] != "battery"
                for s in carriers(node)
            )

        def share(node: str) -> float:
            """What the battery gives for an ampere drawn here."""
            if sources[battery]["kind"] == "battery" and helped(node):
                return 0.0
            found = carriers(node)
            rated = [sources[s].get("amps") for s in found]
            weights = rated if all(rated) else [1.0] * len(found)
            total = 0.0
            for source, weight in zip(found, weights, strict=True):
                part = weight / sum(weights)
                if source == battery:
                    total += part
                elif sources[source]["kind"] == "converter":
                    from_ = highest(inputs(source))
                    taken = sources[source]["volts"] / (
                        sources[source].get("efficiency", 0.8) * volts_there(from_[0])
                    )
                    total += part * taken * sum(share(n) for n in from_) / len(from_)
            return total

        def follows(record: Raw, bus: str) -> float:
            """By what the volts of a DC bus multiply an item's amps."""
            taken_at = self.catalogue["aircraft"].get("load-volts")
            current = next(b for b in self.sections["buses"] if b["id"] == bus).get("current")
            load = record.get("load", "constant-current")
            if taken_at is None or current == "ac" or load == "constant-current":
                return 1.0
            ratio = float(taken_at / volts_there(bus))
            return ratio if load == "constant-power" else 1 / ratio

        amps = 0.0
        shares = {node: share(node) for node in scenario.live}
        for record in self.sections["equipment"]:
            item = record["id"]
            fed = scenario.fed(item)
            enough = all(fed) if record.get("needs") == "all" else any(fed)
            if item in scenario.then.get("shed", []) or not enough:
                continue
            drawn = record["amps"]
            drawn = drawn.get(column) if isinstance(drawn, dict) else drawn
            supplies = self.sections["supplies"][item]
            buses = highest([b for (b, _), here in zip(supplies, fed, strict=True) if here])
            amps += sum(drawn * follows(record, b) * shares[b] for b in buses) / len(buses)
        return amps


def faults_of(airframe: Airframe, failure: Raw) -> frozenset[Fault]:
    """What a named failure takes."""
    sections = airframe.sections
    plainly = {
        **{s["id"]: "lost" for s in sections["sources"]},
        **{b["id"]: "dead" for b in sections["buses"]},
    }
    faults = set()
    for text in failure.get("failed", []):
        component, _, mode = text.partition(":")
        faults.add((component, mode or plainly.get(component, "open")))
    return frozenset(faults)


def failed_in(asked: Raw) -> frozenset[Fault]:
    """The faults of a question, or of a choice."""
    return frozenset((f["id"], f["mode"]) for f in asked["failed"])


def same_figure(one: str, other: str) -> bool:
    """The same reading; percent are rounded, and within what sources that share may show."""
    if one.endswith("%") and other.endswith("%"):
        least, most = span(other)
        return least - 0.6 <= float(one[:-2]) <= most + 0.6
    return one == other


def span(shown: str) -> tuple[float, float]:
    """The least and the most of `22 to 25.2 V`."""
    if shown == "blank":
        return 0, 0
    figures = [float(figure) for figure in shown.split()[:-1] if figure != "to"]
    return figures[0], figures[-1]


def indistinguishable(kind: str, one: str, other: str) -> bool:
    """Whether a person could take one reading for another."""
    if kind == "voltmeter":
        (least, most), (lowest, highest) = span(one), span(other)
        apart = max(least - highest, lowest - most)
        return apart <= max(VOLTS_OFF, SHARE_OFF * max(most, highest))
    if kind == "loadmeter":
        (least, most), (lowest, highest) = span(one), span(other)
        return max(least - highest, lowest - most) < 5 or min(most, highest) > 0
    return (one == "lit") == (other == "lit")


class Checker:
    """All airframes of a catalogue."""

    def __init__(self, catalogue: Raw) -> None:
        self.catalogue = catalogue
        ids = [a["id"] for a in catalogue.get("airframes", [])] or ["all"]
        self.airframes = {a: Airframe(catalogue, a) for a in ids}

    def check(self, airframe: str, question: Raw) -> None:
        """That a question is sound.

        Raises
        ------
        AssertionError : it is not.
        """
        choices = question["choices"]
        texts = [words(c["text"]) for c in choices]
        assert len(choices) >= 3, question
        assert len(set(texts)) == len(texts), question
        assert question["answer"] == choices[question["right"]]["text"], question
        assert words(question["answer"]) not in words(question["text"]), question
        right = RIGHT[question["kind"]]
        here = self.airframes[airframe]
        is_right = [right(self, here, question["asks"], choice) for choice in choices]
        assert is_right[question["right"]] is True, question
        assert not any(r for k, r in enumerate(is_right) if k != question["right"]), (
            question,
            is_right,
        )
        self.choices_say_what_they_mean(here, question)

    def choices_say_what_they_mean(self, here: Airframe, question: Raw) -> None:
        """The text of a choice names what its ids mean."""
        for choice in question["choices"]:
            for key in ("item", "bus"):
                if key in choice:
                    assert choice["text"] == here.names[choice[key]], question
            if "minutes" in choice:
                assert choice["text"] == f"{choice['minutes']} min", question

    # By kind: True where a choice answers the question, False where it certainly does not.

    def still_works(self, here: Airframe, asks: Raw, choice: Raw) -> bool:
        loss = self.case(here, asks)
        item = choice["item"]
        works = item in loss["kept"] or item in loss["reduced"]
        assert works or item in loss["lost"], (item, "turned off, or never on")
        assert item in here.works(asks["condition"]), (item, "brought to life")
        return works

    def lost(self, here: Airframe, asks: Raw, choice: Raw) -> bool:
        return not self.still_works(here, asks, choice)

    def comes_on(self, here: Airframe, asks: Raw, choice: Raw) -> bool:
        loss, item = self.case(here, asks), choice["item"]
        on = item in loss["comes_on"]
        assert on or item in loss["lost"] or item in loss["not_powered"], (item, "on all along")
        return on

    def case(self, here: Airframe, asks: Raw) -> Raw:
        failure = asks["failure"] if asks["crew-has-acted"] else None
        if asks["failure"]:
            assert faults_of(here, here.failures[asks["failure"]]) == failed_in(asks)
        return here.loss(asks["condition"], failed_in(asks), failure)

    def bus(self, here: Airframe, asks: Raw, choice: Raw) -> bool:
        on = {bus for bus, _ in here.sections["supplies"][asks["item"]]}
        assert on.issuperset(asks["besides"])
        assert choice["bus"] not in asks["besides"]
        return choice["bus"] in on

    def place(self, here: Airframe, asks: Raw, choice: Raw) -> bool:
        chosen = (choice["panel"], choice["at"])
        if "device" in asks:
            device = next(d for d in here.sections["devices"] if d["id"] == asks["device"])
            return chosen == (device["panel"], device["at"])
        places = here.protectors(asks["item"])
        if chosen in {(panel, at) for bus, panel, at in places if bus == asks["bus"]}:
            return True
        assert chosen not in {(panel, at) for _, panel, at in places}
        return False

    def cause(self, here: Airframe, asks: Raw, choice: Raw) -> bool:
        works = here.works(asks["condition"], failed_in(choice))
        before = here.works(asks["condition"])
        assert before.issuperset([*asks["dead"], *asks["works"]])
        return works.issuperset(asks["works"]) and not works.intersection(asks["dead"])

    def readings(self, here: Airframe, asks: Raw, choice: Raw) -> bool:
        shown = {i: here.reads(asks["condition"], failed_in(choice), i) for i in asks["reads"]}
        if all(same_figure(shown[i], asks["reads"][i]) for i in shown):
            return True
        assert not all(
            indistinguishable(here.kind(i), shown[i], asks["reads"][i]) for i in shown
        ), choice
        return False

    def function(self, here: Airframe, asks: Raw, choice: Raw) -> bool:
        functions = {f["id"]: f for f in here.sections["functions"]}
        function = functions[asks["function"]]

        def taken(failed: Iterable[Fault]) -> bool:
            works = dict.fromkeys(here.works(asks["condition"], failed), True)
            working = sum(plain.provides(p, works) for p in function["provided-by"])
            return working < function.get("need", 1)

        assert not taken(())
        failed = failed_in(choice)
        if len(failed) > 1:
            # The question says 'No single failure takes it'.
            assert not any(taken([fault]) for fault in here.every_fault)
        return taken(failed)

    def minutes(self, here: Airframe, asks: Raw, choice: Raw) -> bool:
        end = here.minutes(asks["condition"], asks["failure"], asks["battery"])
        assert end is not None
        whole = math.floor(end + 1e-6)
        if choice["minutes"] == whole:
            return True
        assert abs(choice["minutes"] - whole) >= 3, choice
        return False

    def airframe(self, here: Airframe, asks: Raw, choice: Raw) -> bool:
        def has(airframe: Airframe) -> bool:
            if "fitted" in asks:
                sections = ("sources", "buses", "devices", "equipment")
                names = [r["name"] for s in sections for r in airframe.fitted(s)]
                there = asks["fitted"] in names
                assert there or not any(words(asks["fitted"]) in words(n) for n in names)
                return there
            if "bus" in asks:
                return asks["bus"] in {b for b, _ in airframe.sections["supplies"][asks["item"]]}
            assert asks["item"] in airframe.works(asks["condition"])
            return asks["item"] in airframe.works(asks["condition"], failed_in(asks))

        return choice["airframes"] == [a for a, airframe in self.airframes.items() if has(airframe)]


RIGHT: dict[str, Callable[[Checker, Airframe, Raw, Raw], bool]] = {
    "still-works": Checker.still_works,
    "lost": Checker.lost,
    "comes-on": Checker.comes_on,
    "bus": Checker.bus,
    "place": Checker.place,
    "cause": Checker.cause,
    "readings": Checker.readings,
    "function": Checker.function,
    "minutes": Checker.minutes,
    "airframe": Checker.airframe,
}
