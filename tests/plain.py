"""A plain solver: one scenario at a time, by the shortest path from the words to the answer.

It shares nothing with the package, reads the catalogue as YAML gives it, and is slow on purpose:
power spreads by a recursive walk, and everything else is a loop that runs until nothing changes.
The tests compare the package's answers with it, scenario by scenario. Amps and overload are in
`plain_amps.py`; endurance is in neither.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from copy import copy
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

Raw = dict[str, Any]
Fault = tuple[str, str]
Row = tuple[int, str, str, str]
"""Of `because`: step, kind, id, change."""

SECTIONS = (
    "sources",
    "buses",
    "devices",
    "feeders",
    "equipment",
    "switches",
    "conditions",
    "indications",
    "functions",
)
SWITCHING_KINDS = ("contactor", "relay", "switch")
BLOWS = ("fuse", "fuse-link")
MODES = {
    **dict.fromkeys(("generator", "battery", "external-power", "converter"), ("lost", "shorted")),
    "bus": ("dead", "shorted"),
    **dict.fromkeys(("breaker", "contactor", "relay", "switch"), ("open", "stuck-closed")),
    **dict.fromkeys(("fuse", "fuse-link", "shunt"), ("open",)),
    "diode": ("open", "shorted"),
}


def answer(
    catalogue: Raw,
    condition: str,
    failed: Collection[Fault] = (),
    then: Raw | None = None,
    airframe: str | None = None,
    before: Scenario | None = None,
    dip: bool = False,
) -> Raw:
    """What one failure does, by the names of `drop --json`, with `kept` and `readings`.

    Parameters
    ----------
    catalogue : a catalogue's sections as plain lists and dictionaries.
    condition : the id of the condition in which the components fail.
    failed : (component id, mode).
    then : what the crew does about it.
    airframe : whose wiring; None where there is only one.
    before : the condition's steady state (`settled_condition`), where the caller has it.
    dip : contactors of which it is not said whether they ride through drop out while a fault holds
        their coil voltage down (answer 2).
    """
    before = before or settled_condition(catalogue, condition, airframe)
    after = after_failure(before, failed, dip)
    return compare(before, after if then is None else after_crew(before, after, then))


def settled_condition(catalogue: Raw, condition: str, airframe: str | None = None) -> Scenario:
    """A condition with nothing failed, in steady state, from rest."""
    scenario = Scenario(fitted(catalogue, airframe), condition)
    by_hand = {d for d in scenario.moving if scenario.only_follows_a_hand(d)}
    scenario.closed = by_hand | set(scenario.condition.get("held-closed", []))
    scenario.look()
    scenario.loop()
    return scenario


def after_failure(before: Scenario, failed: Collection[Fault], dip: bool = False) -> Scenario:
    """What a failure, or one more failure, leaves of a steady state."""
    after = copy(before)
    after.steps, after.dip = [before.state()], dip
    after.passes = after.repeats = after.restarts = 0
    if failed and not before.failed:
        after.chatter = set()
    after.failed = before.failed | set(failed)
    after.loop()
    return after


def after_crew(before: Scenario, failure: Scenario, then: Raw) -> Scenario:
    """What the crew's acts leave of what a failure left."""
    after = acted(failure, then)
    after.nothing_failed = after if not failure.failed else after_crew(before, before, then)
    # What is shorted is out of the way: dead, and no source.
    apart = copy(failure)
    apart.failed = {f for f in failure.failed if f[0] not in failure.shorted()}
    apart.failed |= {(n, mode) for n in failure.shorted() for mode in ("dead", "lost")}
    after.nothing_opened = acted(apart, then)
    return after


def acted(failure: Scenario, then: Raw) -> Scenario:
    """What the acts leave: first all but the resets, then these."""
    after = copy(failure)
    after.at_once, after.steps, after.then = failure, [failure.state()], then
    after.passes = after.repeats = after.restarts = 0
    after.loop()
    after.between = copy(after)
    can = {d for d in after.opened if after.state()[d] == "tripped"} | after.stalled
    after.reset = (can & set(then.get("reset", []))) - after.pulled - set(then.get("pulled", []))
    after.opened, after.stalled = after.opened - after.reset, after.stalled - after.reset
    after.loop()
    return after


def fitted(catalogue: Raw, airframe: str | None) -> Raw:
    """The sections with only what is fitted to one airframe; supplies lie flat beside them."""

    def is_here(record: Raw) -> bool:
        return airframe is None or airframe in record.get("fitted-to", [airframe])

    sections: Raw = {
        section: [record for record in catalogue.get(section, []) if is_here(record)]
        for section in SECTIONS
    }
    sections["aircraft"] = catalogue.get("aircraft", {})
    sections["supply amps"] = {}
    sections["supplies"] = {}
    sections["protectors in supplies"] = {}
    for owner in (*catalogue.get("equipment", []), *catalogue.get("indications", [])):
        written = owner.get("supplies", [])
        for number, supply in enumerate(written, 1):
            kind = "breaker" if supply.get("breaker") is not None else "fuse"
            protector = supply.get(kind)
            if isinstance(protector, dict):
                made = f"{owner['id']}.{kind}" + (f"-{number}" if len(written) > 1 else "")
                protector = protector.get("id") or made
            if is_here(supply) and is_here(owner):
                if isinstance(supply.get(kind), dict):
                    sections["protectors in supplies"][protector] = kind
                through = [protector] if protector else []
                sections["supply amps"].setdefault(owner["id"], []).append(supply.get("amps"))
                sections["supplies"].setdefault(owner["id"], []).append(
                    (supply["bus"], through + supply.get("through", []))
                )
    return sections


class Scenario:
    """One condition with some components failed in it, at one moment."""

    def __init__(self, sections: Raw, condition: str) -> None:
        self.sections = sections
        self.condition = next(c for c in sections["conditions"] if c["id"] == condition)
        self.kind = {
            **{d["id"]: d["kind"] for d in sections["devices"]},
            **sections["protectors in supplies"],
        }
        self.devices = {d["id"]: d for d in sections["devices"]}
        self.sources = {s["id"]: s for s in sections["sources"]}
        self.buses = [b["id"] for b in sections["buses"]]
        self.moving = {d for d, kind in self.kind.items() if kind in SWITCHING_KINDS}
        self.pulled = set(self.condition.get("pulled", []))
        self.failed: set[Fault] = set()
        self.then: Raw = {}
        self.dip = False
        # What moves. These sets are replaced, never changed, since copies share them.
        self.closed: set[str] = set()
        self.chatter: set[str] = set()
        self.opened: set[str] = set()
        self.stalled: set[str] = set()
        self.no_volts: set[str] = set()
        # What is seen at this moment: by producing source the millivolts that it offers each node
        # (below 0 where the drops are more), and the nodes with power.
        self.reached: dict[str, dict[str, int]] = {}
        self.live: set[str] = set()
        # Of the stage: the states of everything after each step; of the crew's: what was before.
        self.steps: list[dict[str, str]] = []
        # How often it took another pass, found a pass that repeats, and began a search again.
        self.passes = self.repeats = self.restarts = 0
        self.at_once: Scenario | None = None
        self.between: Scenario | None = None
        self.nothing_failed: Scenario | None = None
        self.nothing_opened: Scenario | None = None
        self.reset: set[str] = set()

    # What is set and what conducts

    def is_set(self, switch: str, position: str) -> bool:
        """Whether a person has set this switch so."""
        first = next(s["positions"][0] for s in self.sections["switches"] if s["id"] == switch)
        set_to = {**self.condition.get("switches", {}), **self.then.get("switches", {})}
        return bool(set_to.get(switch, first) == position)

    def only_follows_a_hand(self, device: str) -> bool:
        """Whether a device is a switch that only a person moves, and is set to be closed."""
        terms = _listed(self.devices[device].get("closes-when"))
        return (
            self.kind[device] == "switch"
            and all(set(t) <= {"switches"} for t in terms)
            and self.holds(terms)
        )

    def conducts(self, device: str) -> bool:
        """Whether a device is closed and able to conduct."""
        if (device, "open") in self.failed or device in self.pulled:
            return False
        if (device, "stuck-closed") in self.failed:
            return True
        if device in self.chatter or device in self.opened or device in self.then.get("pulled", []):
            return False
        return device not in self.moving or device in self.closed

    def all_conduct(self, devices: Iterable[str]) -> bool:
        """Whether power passes devices in series."""
        return all(self.conducts(d) for d in devices)

    def conducting(self) -> set[str]:
        """The contactors, relays and switches that are closed."""
        return {d for d in self.moving if self.conducts(d)}

    def diodes(self, feeder: Raw) -> list[str]:
        """The sound diodes of a feeder."""
        through = feeder.get("through", [])
        return [d for d in through if self.kind[d] == "diode" and (d, "shorted") not in self.failed]

    def protective(self, feeder: Raw) -> list[str]:
        """The devices of a feeder that can open on a short."""
        return [
            d
            for d in feeder.get("through", [])
            if (d, "stuck-closed") not in self.failed
            and (
                self.kind[d] in ("breaker", *BLOWS)
                or (self.kind[d] in ("contactor", "relay") and self.devices[d].get("protective"))
            )
        ]

    def conducting_feeders(self) -> list[Raw]:
        return [f for f in self.sections["feeders"] if self.all_conduct(f.get("through", []))]

    # Reach and volts

    def shorted(self) -> set[str]:
        """The nodes that are shorted themselves."""
        nodes = (*self.sources, *self.buses)
        return {c for c, mode in self.failed if mode == "shorted" and c in nodes}

    def dead(self) -> set[str]:
        """The buses that pass nothing."""
        return {c for c, mode in self.failed if mode == "dead"} - self.shorted()

    def look(self) -> None:
        """See where power is."""
        ends: list[tuple[str, str, int]] = []
        for feeder in self.conducting_feeders():
            diodes = self.diodes(feeder)
            drop = sum(_millivolts(self.devices[d].get("drop-volts", 0.7)) for d in diodes)
            ends.append((feeder["from"], feeder["to"], drop))
            if not diodes:
                ends.append((feeder["to"], feeder["from"], 0))
        nowhere = self.dead() | self.no_volts

        def spread(node: str, millivolts: int, reached: dict[str, int]) -> None:
            if node not in nowhere and (node not in reached or reached[node] < millivolts):
                reached[node] = millivolts
                for origin, target, drop in ends:
                    if origin == node:
                        spread(target, millivolts - drop, reached)

        self.reached, self.live = {}, set()
        while True:
            for name, source in self.sources.items():
                if name not in self.reached and name not in self.no_volts and self.on_line(name):
                    self.reached[name] = {}
                    spread(name, _millivolts(source["volts"]), self.reached[name])
            live = set().union(*self.reached.values())
            if live == self.live:
                return
            self.live = live

    def on_line(self, name: str) -> bool:
        """Whether a source would produce, but for a short beside it."""
        if {(name, "lost"), (name, "shorted")} & self.failed or name in self.stalled:
            return False
        if self.sources[name]["kind"] != "converter":
            return name in self.condition["sources"]
        return any(self.feeds_converter(feed) for feed in _feeds(self.sources[name]))

    def feeds_converter(self, feed: Raw) -> bool:
        """Whether a converter has power from this feed."""
        return feed["bus"] in self.live and self.all_conduct(feed.get("through", []))

    def millivolts(self, node: str, range_end: int | None = None) -> int:
        """What a node shows; with all sources at the bottom of their ranges (0), or the top (1)."""

        def higher(source: Raw) -> int:
            if range_end is None:
                return 0
            return _millivolts(_span(source)[range_end]) - _millivolts(source["volts"])

        return max(
            [
                0,
                *(
                    nodes[node] + higher(self.sources[source])
                    for source, nodes in self.reached.items()
                    if node in nodes
                ),
            ]
        )

    # Switching devices

    def holds(self, terms: Iterable[Raw], ends: Sequence[int | None] = (None, None)) -> bool:
        """Whether any one of these closing conditions holds.

        `ends` are those of the sources' ranges at which what must be above volts is judged, and
        what must be below.
        """

        def is_live(node: str) -> bool:
            return node in (self.reached if node in self.sources else self.live)

        def volts(node: str, end: int | None) -> int:
            if node not in self.sources:
                return self.millivolts(node, end)
            source = self.sources[node]
            own = source["volts"] if end is None else _span(source)[end]
            return _millivolts(own) if node in self.reached else 0

        return any(
            all(self.is_set(s, p) for s, p in term.get("switches", {}).items())
            and all(is_live(n) for n in term.get("live", []))
            and not any(is_live(n) for n in term.get("dead", []))
            and all(self.conducts(d) for d in term.get("closed", []))
            and not any(self.conducts(d) for d in term.get("open", []))
            and all(
                volts(n, ends[0]) > _millivolts(v) for n, v in term.get("volts-above", {}).items()
            )
            and all(
                volts(n, ends[1]) < _millivolts(v) for n, v in term.get("volts-below", {}).items()
            )
            for term in terms
        )

    def settle(self, free: Collection[str]) -> None:
        """Judge all these at once until nothing changes; what never stops opens for good."""
        began, steps = self.conducting(), len(self.steps)
        while True:
            seen: list[set[str]] = []
            while (now := self.conducting()) not in seen:
                seen.append(now)
                held = now - set(free)
                self.closed = held | {
                    d for d in free if self.holds(_listed(self.devices[d].get("closes-when")))
                }
                self.step()
            cycle = seen[seen.index(now) :]
            moved = set().union(*(state ^ now for state in cycle))
            if not moved:
                self.closed = now
                return
            del self.steps[steps:]
            self.closed, self.chatter = began, self.chatter | moved
            self.restarts += 1
            self.step()
            steps += 1

    # Faults

    def short(self, passes_protection: bool) -> set[str]:
        """Every node that the shorts reach against the flow of sound diodes."""
        feeders = [
            f for f in self.conducting_feeders() if passes_protection or not self.protective(f)
        ]
        part: set[str] = set()
        more = self.shorted()
        while more:
            part |= more
            more = {f["from"] for f in feeders if f["to"] in part}
            more |= {f["to"] for f in feeders if f["from"] in part and not self.diodes(f)}
            more -= part | self.dead()
        return part

    def first_step(self) -> tuple[set[str], set[str]]:
        """Hold the shorted part down; what opens on it and which sources stall."""
        self.no_volts = part = self.short(passes_protection=False)
        self.look()
        opens = set()
        for feeder in self.conducting_feeders():
            protective = self.protective(feeder)
            if feeder["to"] in part and feeder["from"] in self.live:
                opens.add(protective[-1])
            if feeder["from"] in part and feeder["to"] in self.live and not self.diodes(feeder):
                opens.add(protective[0])
        return opens, {s for s in self.sources if s in part and self.on_line(s)}

    def loop(self) -> None:
        """Open, stall and settle, pass by pass, until nothing happens any more."""
        began: list[tuple[set[str], ...]] = []
        while True:
            start = (self.conducting(), self.opened, self.stalled, self.chatter)
            if start in began:
                since = [closed for closed, *_ in began[began.index(start) :]]
                self.chatter = self.chatter | set().union(*since) - set.intersection(*since)
                self.repeats += 1
                self.step()
                start = (self.conducting(), self.opened, self.stalled, self.chatter)
            began.append(start)
            self.passes += 1
            opens, stalls = self.first_step()
            part = self.no_volts
            rides = {d: self.devices[d].get("rides-through") for d in self.moving}
            drops = {d for d in self.moving if rides[d] is False or (self.dip and not rides[d])}
            if drops and (opens or stalls):
                self.no_volts = self.short(passes_protection=True)
                self.step()
                self.settle(drops)
            self.no_volts = part
            self.opened, self.stalled = self.opened | opens, self.stalled | stalls
            self.step()
            self.settle(self.moving)
            if (self.conducting(), self.opened, self.stalled) == start[:3]:
                return

    # Because

    def step(self) -> None:
        self.look()
        self.steps.append(self.state())

    def state(self) -> dict[str, str]:
        """By source, bus and device."""
        found = {s: "produces" if s in self.reached else "idle" for s in self.sources}
        found.update(dict.fromkeys(self.stalled, "stalled"))
        found.update({b: "live" if b in self.live else "dead" for b in self.buses})
        found.update({d: "closed" if self.conducts(d) else "open" for d in self.kind})
        for device in self.opened:
            found[device] = "blown" if self.kind[device] in BLOWS else "tripped"
        return found

    def because(self) -> list[Row]:
        """What differs since the stage began, each at the step that last changed it."""
        kinds = {
            **self.kind,
            **{s: record["kind"] for s, record in self.sources.items()},
            **dict.fromkeys(self.buses, "bus"),
        }
        no_rows = {c for c, _ in self.failed} | self.reset | set(self.then.get("pulled", []))
        last = {}
        for component in kinds.keys() - no_rows:
            states = [state[component] for state in self.steps]
            if states[0] != states[-1]:
                last[component] = max(
                    n for n in range(1, len(states)) if states[n] != states[n - 1]
                )
        number = {step: n for n, step in enumerate(sorted(set(last.values())), 1)}
        return sorted((number[n], kinds[c], c, self.steps[-1][c]) for c, n in last.items())

    # What works

    def fed(self, owner: str) -> list[bool]:
        """By supply: whether power comes through, at the least volts at which it is of use."""
        record = next((e for e in self.sections["equipment"] if e["id"] == owner), {})
        least = _millivolts(record.get("min-volts", 0))
        return [
            bus in self.live and self.all_conduct(through) and self.millivolts(bus) >= least
            for bus, through in self.sections["supplies"].get(owner, [])
        ]

    def live_supplies(self, owner: str) -> list[str]:
        """The buses of the supplies through which power comes."""
        supplies = self.sections["supplies"].get(owner, [])
        return [bus for (bus, _), fed in zip(supplies, self.fed(owner), strict=True) if fed]

    def works(self, shed: Collection[str] | None = None) -> dict[str, bool]:
        """By equipment; what is shed is what the crew sheds, or what is said here."""
        off = self.then.get("shed", []) if shed is None else shed
        by_id = {e["id"]: e for e in self.sections["equipment"]}
        found: dict[str, bool] = {}

        def one(item: str) -> bool:
            if item not in found:
                record, fed = by_id.get(item, {}), self.fed(item)
                found[item] = (
                    item not in off
                    and any(fed)
                    and (all(fed) or record.get("needs") != "all")
                    and all(any(one(i) for i in either) for either in _alternatives(record))
                )
            return found[item]

        return {item: one(item) for item in by_id}

    def behind(self, node: str, seen: Collection[str] = ()) -> set[str]:
        """The kinds of the sources whose power reaches a node, back through converters."""
        kinds: set[str] = set()
        for name, nodes in self.reached.items():
            source = self.sources[name]
            if node in nodes and source["kind"] != "converter":
                kinds.add(source["kind"])
            elif node in nodes and name not in seen:
                for feed in _feeds(source):
                    if self.feeds_converter(feed):
                        kinds |= self.behind(feed["bus"], {*seen, name})
        return kinds

    def conflicts(self) -> dict[str, list[str]]:
        """By bus: the AC sources that meet there and do not all carry one name."""
        found = {}
        for bus in self.buses:
            meet = [
                s
                for s, nodes in self.reached.items()
                if bus in nodes and self.sources[s].get("current") == "ac"
            ]
            names = {self.sources[s].get("synchronised") for s in meet}
            if len(meet) > 1 and (len(names) > 1 or None in names):
                found[bus] = sorted(meet)
        return found

    def reading(self, indication: Raw) -> str:
        """What a voltmeter, lamp or flag shows."""
        if indication.get("supplies") and not any(self.fed(indication["id"])):
            return "blank"
        if indication["kind"] == "voltmeter":
            ends = dict.fromkeys(self.millivolts(indication["at"], end) / 1000 for end in (0, 1))
            return " to ".join(f"{volts:g}" for volts in ends) + " V"
        terms = _listed(indication.get("lit-when"))
        if self.holds(terms, ends=(0, 1)):
            return "lit"
        return "lit or unlit" if self.holds(terms, ends=(1, 0)) else "unlit"


def compare(before: Scenario, after: Scenario) -> Raw:
    """What the failure, and then the crew, have changed in a condition."""
    worked, works, conflicts = before.works(), after.works(), after.conflicts()
    at_once = after.at_once.works() if after.at_once else dict.fromkeys(worked, False)
    not_shed = after.works(shed=()) if after.at_once else at_once
    between = after.between.works(shed=()) if after.between else at_once
    acts_alone = after.nothing_failed.works() if after.nothing_failed else at_once
    held = not after.reset & (after.opened | after.stalled)
    spared = spared_by_the_acts(after)

    def word(item: str) -> str:
        if not worked[item]:
            if not works[item]:
                return "not_powered"
            return "turned_on" if acts_alone[item] else "comes_on"
        if not works[item]:
            if ((between[item] and not held) or item in spared) and not not_shed[item]:
                return "lost"
            return "shed" if at_once[item] or not_shed[item] else "lost"
        record = next(e for e in after.sections["equipment"] if e["id"] == item)
        in_conflict = [supply in conflicts for supply in after.live_supplies(item)]
        if any(in_conflict) if record.get("needs") == "all" else all(in_conflict):
            return "not_known"
        supplies = zip(before.fed(item), after.fed(item), strict=True)
        others = [i for either in _alternatives(record) for i in either]
        gone = any(was and not now for was, now in supplies)
        return (
            "reduced"
            if gone or any(i in worked and worked[i] > works[i] for i in others)
            else "kept"
        )

    words = {item: word(item) for item in sorted(works)}
    names = ("lost", "reduced", "kept", "not_powered", "shed", "comes_on", "turned_on", "not_known")
    functions = {}
    for function in after.sections["functions"]:
        top, need = function["provided-by"], function.get("need", 1)
        if isinstance(top, dict) and "any" in top:
            top, need = top["any"], top.get("need", need)
        spare = sum(provides(one, works) for one in _listed(top)) - need
        functions[function["id"]] = "lost" if spare < 0 else "one-left" if spare == 0 else "kept"
    state = after.state()
    return {
        **{name: [item for item, said in words.items() if said == name] for name in names},
        "on_battery": [
            item
            for item in words
            if works[item]
            and set().union(*map(after.behind, after.live_supplies(item))) <= {"battery"}
        ],
        "nodes": {
            node: {
                "live": node in after.live,
                "volts": after.millivolts(node) / 1000,
                "sources": sorted(s for s, nodes in after.reached.items() if node in nodes),
            }
            for node in (*after.sources, *after.buses)
        },
        "contactors": {
            d: "closed" if after.conducts(d) else "open"
            for d, kind in after.kind.items()
            if kind in ("contactor", "relay")
        },
        "functions": functions,
        "chatter": sorted(after.chatter),
        "opened": {d: state[d] for d in after.opened},
        "stalled": sorted(after.stalled),
        "driven": sorted(
            s
            for s, record in after.sources.items()
            if record["kind"] == "generator"
            and ((s, "lost") in after.failed or s in after.stalled)
            and s in after.live
        ),
        "conflicts": [{"node": n, "sources": conflicts[n]} for n in sorted(conflicts)],
        "because": after.because(),
        "readings": {
            i["id"]: after.reading(i)
            for i in after.sections["indications"]
            if i["kind"] in ("voltmeter", "lamp", "flag")
        },
    }


def spared_by_the_acts(after: Scenario) -> set[str]:
    """Where the acts made something open or stall: what would work if nothing had."""
    if not after.at_once or not after.between or not after.nothing_opened:
        return set()
    taken = after.opened | after.stalled
    again = taken & after.reset
    taken |= after.between.opened | after.between.stalled
    if not again | taken - after.at_once.opened - after.at_once.stalled:
        return set()
    return {item for item, works in after.nothing_opened.works(shed=()).items() if works}


def every_fault(catalogue: Raw, airframe: str | None = None) -> list[Fault]:
    """Every mode of every component."""
    sections = fitted(catalogue, airframe)
    kinds = {r["id"]: r["kind"] for r in (*sections["sources"], *sections["devices"])}
    kinds |= {b["id"]: "bus" for b in sections["buses"]} | sections["protectors in supplies"]
    return [(component, mode) for component, kind in kinds.items() for mode in MODES[kind]]


def provides(provider: Any, works: dict[str, bool]) -> bool:
    """Whether a piece of equipment works, or a group of them provides; what is not fitted fails."""
    if isinstance(provider, str):
        return works.get(provider, False)
    if "all" in provider:
        return all(provides(one, works) for one in provider["all"])
    return sum(provides(one, works) for one in provider["any"]) >= provider.get("need", 1)


def _millivolts(volts: float) -> int:
    return int((Decimal(str(volts)) * 1000).quantize(Decimal(1), ROUND_HALF_UP))


def _span(source: Raw) -> list[float]:
    """The least and the most volts of a source."""
    return source.get("volts-range") or [source["volts"], source["volts"]]


def _listed(terms: Any) -> list[Any]:
    return [terms] if isinstance(terms, dict) else terms or []


def _feeds(source: Raw) -> list[Raw]:
    return _listed(source.get("fed-from"))


def _alternatives(record: Raw) -> Iterator[list[str]]:
    for written in record.get("requires", []):
        yield written["any"] if isinstance(written, dict) else [written]
