"""A plain solver: one scenario at a time, by the shortest way from the words to the answer.

It shares nothing with the package, reads the catalogue as YAML gives it, and is slow on purpose:
reach is a recursive walk, and everything else is a loop that runs until nothing changes. The tests
compare the package's answers with it, scenario by scenario.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import Any

Raw = dict[str, Any]
Fault = tuple[str, str]

PROTECTIVE = ("breaker", "fuse", "fuse-link")
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


def answer(
    catalogue: Raw,
    condition: str,
    failed: Collection[Fault] = (),
    then: Raw | None = None,
    airframe: str | None = None,
    before: Scenario | None = None,
) -> Raw:
    """What one failure does, by the names of `drop --json`, with `kept`, `shed` and `readings`.

    Parameters
    ----------
    catalogue : a catalogue's sections as plain lists and dictionaries.
    condition : the id of the condition in which the components fail.
    failed : (component id, mode).
    then : what the crew does about it.
    airframe : whose wiring; None where there is only one.
    before : the condition already settled (`settled_condition`), where the caller has it.
    """
    before = before or settled_condition(catalogue, condition, airframe)
    after = Scenario(before.sections, condition, failed)
    after.settle(before.conducting())
    if then is None:
        return compare(before, after)
    at_once, left = after, after.conducting()
    after = Scenario(before.sections, condition, failed, then)
    after.settle(left)
    return compare(before, after, at_once)


def settled_condition(catalogue: Raw, condition: str, airframe: str | None = None) -> Scenario:
    """A condition with nothing failed, settled from rest."""
    scenario = Scenario(fitted(catalogue, airframe), condition)
    held = set(scenario.condition.get("held-closed", []))
    by_hand = {d for d in scenario.moving if scenario.only_follows_a_hand(d)}
    scenario.settle(held | by_hand)
    return scenario


def fitted(catalogue: Raw, airframe: str | None) -> Raw:
    """The sections with only what is fitted to one airframe; supplies lie flat beside them."""

    def is_here(record: Raw) -> bool:
        return airframe is None or airframe in record.get("fitted-to", [airframe])

    sections: Raw = {
        section: [record for record in catalogue.get(section, []) if is_here(record)]
        for section in SECTIONS
    }
    sections["supplies"] = {}
    sections["breakers in supplies"] = []
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
                    sections["breakers in supplies"].append(protector)
                through = [protector] if protector else []
                sections["supplies"].setdefault(owner["id"], []).append(
                    (supply["bus"], through + supply.get("through", []))
                )
    return sections


class Scenario:
    """One condition with some components failed in it."""

    def __init__(
        self, sections: Raw, condition: str, failed: Collection[Fault] = (), then: Raw | None = None
    ) -> None:
        self.sections = sections
        self.condition = next(c for c in sections["conditions"] if c["id"] == condition)
        self.failed = set(failed)
        self.then = then or {}
        self.kind = {d["id"]: d["kind"] for d in sections["devices"]}
        self.terms = {d["id"]: _listed(d.get("closes-when")) for d in sections["devices"]}
        self.moving = [d for d, kind in self.kind.items() if kind in SWITCHING_KINDS]
        self.protective = {
            d["id"]
            for d in sections["devices"]
            if d["kind"] in PROTECTIVE or d.get("protective", False)
        }
        self.nodes = [n["id"] for n in (*sections["sources"], *sections["buses"])]
        self.pulled = {*self.condition.get("pulled", []), *self.then.get("pulled", [])}
        self.closed: set[str] = set()
        self.chatter: set[str] = set()
        self.shorted = {n for n in self.nodes if (n, "shorted") in self.failed}
        self.dead = {n for n in self.nodes if (n, "dead") in self.failed} - self.shorted
        self.down = self.dead | self.shorted

    # What is given

    def is_set(self, switch: str, position: str) -> bool:
        """Whether a person has set this switch so."""
        first = next(s["positions"][0] for s in self.sections["switches"] if s["id"] == switch)
        set_to = {**self.condition.get("switches", {}), **self.then.get("switches", {})}
        return bool(set_to.get(switch, first) == position)

    def only_follows_a_hand(self, device: str) -> bool:
        """Whether a device is a switch that nothing but a person moves."""
        return self.kind[device] == "switch" and any(
            set(terms) <= {"switches"}
            and all(self.is_set(s, p) for s, p in terms.get("switches", {}).items())
            for terms in self.terms[device]
            if all(set(t) <= {"switches"} for t in self.terms[device])
        )

    def conducts(self, device: str) -> bool:
        """Whether a device is closed and able to conduct."""
        if (device, "open") in self.failed or device in self.pulled or device in self.chatter:
            return False
        if self.kind.get(device) in SWITCHING_KINDS:
            return device in self.closed or (device, "stuck-closed") in self.failed
        return True

    def all_conduct(self, devices: Iterable[str]) -> bool:
        """Whether power passes a run of devices in series."""
        return all(self.conducts(d) for d in devices)

    def conducting(self) -> set[str]:
        """The contactors, relays and switches that are closed."""
        return {d for d in self.moving if self.conducts(d)}

    # Reach

    def next_to(self, node: str) -> Iterator[str]:
        """The nodes to which power passes from a node."""
        for feeder in self.sections["feeders"]:
            through = feeder.get("through", [])
            if node in (feeder["from"], feeder["to"]) and self.all_conduct(through):
                if node == feeder["from"]:
                    yield feeder["to"]
                elif not any(self.kind[d] == "diode" for d in through):
                    yield feeder["from"]

    def reach(self, node: str, reached: set[str]) -> set[str]:
        """Walk on from a node, and remember where one has been."""
        if node not in self.down and node not in reached:
            reached.add(node)
            for other in self.next_to(node):
                self.reach(other, reached)
        return reached

    def look(self) -> tuple[set[str], dict[str, set[str]]]:
        """The live nodes, and by producing source the nodes that it reaches."""
        reached: dict[str, set[str]] = {}
        while True:
            live = set().union(*reached.values())
            for source in self.sections["sources"]:
                name = source["id"]
                able = (name, "lost") not in self.failed and name not in self.down
                if source["kind"] == "converter":
                    able = able and any(self.feeds_converter(feed, live) for feed in _feeds(source))
                else:
                    able = able and name in self.condition["sources"]
                if able and name not in reached:
                    reached[name] = self.reach(name, set())
            if live == set().union(*reached.values()):
                return live, reached

    def feeds_converter(self, feed: Raw, live: set[str]) -> bool:
        """Whether a converter's input is live."""
        return feed["bus"] in live and self.all_conduct(feed.get("through", []))

    # Contactors

    def holds(self, terms: Iterable[Raw], live: set[str], producing: Collection[str]) -> bool:
        """Whether any one of these structures of terms holds."""
        sources = {s["id"] for s in self.sections["sources"]}

        def is_live(node: str) -> bool:
            return node in producing if node in sources else node in live

        return any(
            all(self.is_set(s, p) for s, p in structure.get("switches", {}).items())
            and all(is_live(n) for n in structure.get("live", []))
            and not any(is_live(n) for n in structure.get("dead", []))
            and all(self.conducts(d) for d in structure.get("closed", []))
            and not any(self.conducts(d) for d in structure.get("open", []))
            for structure in terms
        )

    def move(self) -> None:
        """Move every contactor at once."""
        live, reached = self.look()
        self.closed = {d for d in self.moving if self.holds(self.terms[d], live, reached)}

    def settle_contactors(self) -> None:
        """Move contactors until nothing changes; what never settles counts as open."""
        began = self.closed
        while True:
            self.closed = set(began)
            seen: list[set[str]] = []
            while (now := self.conducting()) not in seen:
                seen.append(now)
                self.move()
            cycle = seen[seen.index(now) :]
            moving = {d for state in cycle for d in state ^ cycle[0]}
            if not moving:
                return
            self.chatter |= moving

    # Shorts

    def short(self, node: str, reached: set[str]) -> None:
        """Walk from a shorted bus against the current that feeds the short."""
        if node in self.dead or node in reached:
            return
        reached.add(node)
        for feeder in self.sections["feeders"]:
            through = feeder.get("through", [])
            if self.all_conduct(through) and not self.protective.intersection(through):
                if node == feeder["to"]:
                    self.short(feeder["from"], reached)
                if node == feeder["from"] and not any(self.kind[d] == "diode" for d in through):
                    self.short(feeder["to"], reached)

    def settle(self, closed: set[str]) -> None:
        """Settle from how the contactors stand, then as often as a short pulls down more."""
        self.closed = set(closed)
        while True:
            self.settle_contactors()
            reached: set[str] = set()
            for bus in self.shorted:
                self.short(bus, reached)
            if reached <= self.down:
                return
            self.down |= reached

    # What works

    def fed(self, owner: str) -> list[bool]:
        """By supply: whether power comes through."""
        live, _ = self.look()
        return [
            bus in live and self.all_conduct(through)
            for bus, through in self.sections["supplies"].get(owner, [])
        ]

    def works(self) -> dict[str, bool]:
        """By equipment."""
        found: dict[str, bool] = {}
        by_id = {e["id"]: e for e in self.sections["equipment"]}

        def one(item: str) -> bool:
            if item not in found:
                record = by_id[item]
                enough = all if record.get("needs") == "all" else any
                found[item] = (
                    item not in self.then.get("shed", [])
                    and enough(self.fed(item))
                    and all(
                        any(one(other) for other in alternatives)
                        for alternatives in _alternatives(record)
                    )
                )
            return found[item]

        return {item: one(item) for item in by_id}

    def behind(self, node: str, seen: set[str]) -> set[str]:
        """The kinds of sources behind a node, through converters."""
        live, reached = self.look()
        kinds: set[str] = set()
        for source in self.sections["sources"]:
            if node in reached.get(source["id"], ()) and source["id"] not in seen:
                if source["kind"] != "converter":
                    kinds.add(source["kind"])
                    continue
                for feed in _feeds(source):
                    if self.feeds_converter(feed, live):
                        kinds |= self.behind(feed["bus"], seen | {source["id"]})
        return kinds

    def reading(self, indication: Raw) -> str:
        """What a voltmeter, lamp or flag shows."""
        live, reached = self.look()
        if indication.get("supplies") and not any(self.fed(indication["id"])):
            return "blank"
        if indication["kind"] == "voltmeter":
            return f"{self.volts(indication['at'], reached):g} V"
        return "lit" if self.holds(_listed(indication.get("lit-when")), live, reached) else "unlit"

    def volts(self, node: str, reached: dict[str, set[str]]) -> float:
        """The volts of the highest source that reaches a node."""
        return max(
            (s["volts"] for s in self.sections["sources"] if node in reached.get(s["id"], ())),
            default=0,
        )


def compare(before: Scenario, after: Scenario, at_once: Scenario | None = None) -> Raw:
    """What the failure has changed; `at_once` is how it stood before the crew acted."""
    worked, works = before.works(), after.works()
    live, reached = after.look()
    left = {item for item, worked in at_once.works().items() if worked} if at_once else set()
    if at_once:
        shed, after.then = after.then, {**after.then, "shed": []}
        left |= {item for item, worked in after.works().items() if worked}
        after.then = shed
    found: Raw = {
        "lost": [],
        "reduced": [],
        "kept": [],
        "not_powered": [],
        "shed": [],
        "on_battery": [],
    }
    for record in after.sections["equipment"]:
        item = record["id"]
        supply_gone = any(
            was and not fed for was, fed in zip(before.fed(item), after.fed(item), strict=True)
        )
        alternative_gone = any(
            worked[other] and not works[other]
            for written in record.get("requires", [])
            if isinstance(written, dict)
            for other in written["any"]
        )
        if works[item]:
            found["reduced" if supply_gone or alternative_gone else "kept"].append(item)
            kinds: set[str] = set()
            supplies = after.sections["supplies"].get(item, [])
            for (bus, _), fed in zip(supplies, after.fed(item), strict=True):
                if fed:
                    kinds |= after.behind(bus, set())
            if kinds <= {"battery"}:
                found["on_battery"].append(item)
        elif not worked[item]:
            found["not_powered"].append(item)
        else:
            found["shed" if item in left else "lost"].append(item)
    functions = {}
    for function in after.sections["functions"]:
        working = sum(works.get(item, False) for item in function["provided-by"])
        spare = working - function.get("need", 1)
        functions[function["id"]] = "lost" if spare < 0 else "one-left" if spare == 0 else "kept"
    return {
        **{name: sorted(items) for name, items in found.items()},
        "nodes": {
            node: {
                "live": node in live,
                "volts": after.volts(node, reached),
                "sources": sorted(s for s, nodes in reached.items() if node in nodes),
            }
            for node in after.nodes
        },
        "contactors": {
            d: "closed" if after.conducts(d) else "open"
            for d in after.moving
            if after.kind[d] != "switch"
        },
        "functions": functions,
        "chatter": sorted(after.chatter),
        "readings": {
            i["id"]: after.reading(i)
            for i in after.sections["indications"]
            if i["kind"] in ("voltmeter", "lamp", "flag")
        },
    }


def every_fault(catalogue: Raw, airframe: str | None = None) -> list[Fault]:
    """Every way in which one component fails."""
    sections = fitted(catalogue, airframe)
    found = [(s["id"], "lost") for s in sections["sources"]]
    for bus in sections["buses"]:
        found += [(bus["id"], "dead"), (bus["id"], "shorted")]
    for device in sections["devices"]:
        found.append((device["id"], "open"))
        if device["kind"] in ("contactor", "relay"):
            found.append((device["id"], "stuck-closed"))
    return found + [(b, "open") for b in sections["breakers in supplies"]]


def _listed(terms: Any) -> list[Raw]:
    return [terms] if isinstance(terms, dict) else terms or []


def _feeds(source: Raw) -> list[Raw]:
    return _listed(source.get("fed-from"))


def _alternatives(record: Raw) -> list[list[str]]:
    return [w["any"] if isinstance(w, dict) else [w] for w in record.get("requires", [])]
