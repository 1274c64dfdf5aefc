"""On which lines of the catalogue an answer depends, and which of them nobody has checked.

An answer depends on the lines of what it names, and on those of all from which power and control
reach that: feeders, their devices, what closes these. Every answer depends on the conditions.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from sitegen.catalogue.lines import CatalogueLine, has_checks, lines
from sitegen.catalogue.model import Catalogue, Equipment, Indication, Terms, required_ids
from sitegen.reachable import reachable
from sitegen.solver.network import Network


@dataclass(frozen=True)
class Unchecked:
    """How many of the lines that an answer depends on are not checked."""

    lines: int
    unchecked: int

    def as_json(self) -> dict[str, int]:
        """The object that commands print with `--json`."""
        return {"lines": self.lines, "not_checked": self.unchecked}

    @property
    def text(self) -> str:
        """The fact as a sentence."""
        if not self.unchecked:
            return f"All {self.lines} lines of the catalogue that this depends on are checked."
        are = "is" if self.unchecked == 1 else "are"
        return (
            f"{self.unchecked} of the {self.lines} lines of the catalogue that this depends on"
            f" {are} not checked."
        )


@dataclass(frozen=True, eq=False)
class AirframeLines:
    """The lines of one airframe, and what each answer needs of them."""

    catalogue: Catalogue
    """The whole fleet's."""
    network: Network

    @cached_property
    def lines(self) -> list[CatalogueLine]:
        """All of them, in the order of a wiring chart."""
        return lines(self.catalogue, self.network.airframe)

    @cached_property
    def unchecked(self) -> list[CatalogueLine]:
        """Those that nobody has checked."""
        return [line for line in self.lines if line.checked is None]

    @cached_property
    def has_checks(self) -> bool:
        """Whether anything in the catalogue is marked as checked (`lines.has_checks`)."""
        return has_checks(self.catalogue)

    def needed_for(self, names: Iterable[str] | None) -> list[CatalogueLine]:
        """The lines on which an answer depends that names these.

        Parameters
        ----------
        names : ids of components, equipment, indications and switches; of functions, named
            failures and panels with the section before them (`functions talk`). None: all lines.
        """
        if names is None:
            return self.lines
        names = set(names)
        reached = reachable(self._needs, names)
        return [line for line in self.lines if self._depends(line, names, reached)]

    @staticmethod
    def _depends(line: CatalogueLine, names: set[str], reached: set[str]) -> bool:
        section = line.path[0]
        if section in ("airframes", "conditions"):
            return True
        if section == "feeders":  # of a bus that is named, also those that lead away
            return line.keys <= reached or bool(line.keys & names)
        return bool(line.keys & reached)

    @cached_property
    def _needs(self) -> dict[str, set[str]]:
        """By id: the ids of what power or control comes from."""
        needs: dict[str, set[str]] = {}

        def add(name: str, others: Iterable[str]) -> None:
            needs.setdefault(name, set()).update(others)

        for branch in self.network.branches:
            add(branch.target, (branch.origin, *branch.through))
            if not branch.one_way and not branch.into_converter:
                add(branch.origin, (branch.target, *branch.through))
            for device in branch.through:
                add(device, (branch.origin,))
        for device, alternatives in self.network.switching.items():
            for terms in alternatives:
                add(device, _named(terms))
        c = self.network.catalogue
        owners: tuple[Equipment | Indication, ...] = (*c.equipment, *c.indications)
        for owner in owners:
            for connection in self.network.connections[owner.id]:
                add(owner.id, (connection.bus, *connection.through))
                if connection.protector:
                    add(connection.protector, (connection.bus,))
        for equipment in c.equipment:
            add(equipment.id, required_ids(equipment))
        for indication in c.indications:
            add(indication.id, [indication.at] if indication.at else [])
            for terms in indication.lit_when or ():
                add(indication.id, _named(terms))
        for function in c.functions:
            add(f"functions {function.id}", function.equipment)
        return needs


def unchecked_of(
    airframes: Sequence[AirframeLines], names: Iterable[str] | None = None
) -> Unchecked | None:
    """How many lines that an answer depends on are not checked; None where nothing is checked.

    Parameters
    ----------
    airframes : what the answer is about, one airframe or several.
    names : what it names, as for `AirframeLines.needed_for`.
    """
    if not airframes[0].has_checks:
        return None
    needed = {line.path: line for airframe in airframes for line in airframe.needed_for(names)}
    return Unchecked(len(needed), sum(line.checked is None for line in needed.values()))


def _named(terms: Terms) -> Iterator[str]:
    for group in (terms.switches, terms.live, terms.dead, terms.closed, terms.open):
        yield from group
    yield from (*terms.volts_above, *terms.volts_below)
