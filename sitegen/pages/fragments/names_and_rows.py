"""Short fragments of HTML that many pages share, rendered once an airframe and joined."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property

from markupsafe import Markup, escape

from sitegen.catalogue.ata_chapters import chapter, chapter_title
from sitegen.pages.author_text import prose
from sitegen.pages.links import (
    PAPER,
    bus_page,
    equipment_page,
    failure_page,
    function_page,
    indication_page,
    named_failure_page,
    note_page,
    panel_page,
)
from sitegen.pages.theme import macro
from sitegen.quantities import NO_BREAK
from sitegen.solver.network import Component, Connection, Network
from sitegen.terminal.shared_text import named_in_effect


def unchanged(page: str) -> str | None:
    """The link to a page, on a site."""
    return page


@dataclass(frozen=True)
class Fragments:
    """The shared HTML of one airframe."""

    network: Network
    notes: tuple[str, ...] = ()
    """The ids of the longer texts."""
    resolve: Callable[[str], str | None] = unchanged
    """The link to write for a page; None for its name without a link."""
    revised: frozenset[str] = frozenset()
    """What has changed since an older revision, where it has a line of its own."""

    @cached_property
    def links(self) -> dict[str, Markup]:
        """By id: the name, as a link where the thing has a page; a sign if it has a hazard."""
        pages = self._own_pages
        return {
            i: (self.link(pages[i], name) if i in pages else escape(name)) + self._sign(i)
            for i, name in self.network.names.items()
        }

    @cached_property
    def _own_pages(self) -> dict[str, str]:
        """By component and equipment: the page that is about it."""
        return {
            **self.pages,
            **{b.id: bus_page(b.id) for b in self.network.catalogue.buses},
            **{i: equipment_page(i) for i in self.network.equipment},
            **{i.id: indication_page(i.id) for i in self.network.catalogue.indications},
        }

    def hazard(self, name: str) -> Markup:
        """What can hurt someone there, in a few words, to go after its name."""
        text = self.network.hazard_in_short(name)
        return macro("hazard")(text) if text else Markup("")

    def hazard_note(self, name: str) -> str:
        """The same as plain text for a list; empty without a hazard."""
        text = self.network.hazard_in_short(name)
        return f"hazard: {text}" if text else ""

    def name(self, item: str) -> Markup:
        """Its name without a link; a sign if it has a hazard."""
        return escape(self.network.names[item]) + self._sign(item)

    def _sign(self, name: str) -> Markup:
        text = self.network.hazard_in_short(name)
        return macro("hazard_sign")(text) if text else Markup("")

    def hazards(self, ids: Iterable[str]) -> str:
        """What can hurt someone at any of these, each hazard once with the names that have it."""
        by_hazard: dict[str, list[str]] = {}
        for i in dict.fromkeys(ids):
            if text := self.network.hazard_in_short(i):
                by_hazard.setdefault(text, []).append(self.network.names[i])
        return "; ".join(f"{text} ({', '.join(names)})" for text, names in by_hazard.items())

    def link(self, page: str, name: str) -> Markup:
        """A name with the link to its page, if there is one to write."""
        href = self.resolve(page)
        return macro("link")(name, href) if href else escape(name)

    @cached_property
    def failure_sets(self) -> dict[str, Markup]:
        """By equipment: its name, as a link to the failures that take it only together."""
        equipment = self.network.equipment.values()
        return {e.id: self.link(f"{equipment_page(e.id)}#together", e.name) for e in equipment}

    @cached_property
    def failing(self) -> dict[str, Markup]:
        """By component: its name, as a link to what is lost with it."""
        names = self.network.names
        return {
            c: self.link(self.pages[c], names[c]) if c in self.pages else escape(names[c])
            for c in self.network.components
        }

    @cached_property
    def failing_or_named(self) -> dict[str, Markup]:
        """The same, and by named failure its name."""
        failures = self.network.catalogue.failures
        named = {f.id: self.link(named_failure_page(f.id), f.name) for f in failures}
        return {**named, **self.failing}

    def named_record(self, section: str, name: str, title: str) -> Markup:
        """A record of any section by its id: its title as a link, where it has a page.

        A feeder goes by its wording: each of its parts has a link, if it is on this airframe.
        """
        if section == "feeders":
            parts = name.split(" > ")
            if not all(part in self.links for part in parts):
                return escape(title)
            return Markup(" \u2192 ").join(self.links[part] for part in parts)
        pages = {"panels": panel_page(name), "handout": PAPER}
        page = pages.get(section) or self._subjects.get(name)
        return self.link(page, self.network.names.get(name, title)) if page else escape(title)

    @cached_property
    def _subjects(self) -> dict[str, str]:
        """By id the page of all that an author's text may link to."""
        c = self.network.catalogue
        return {
            **{note: note_page(note) for note in self.notes},
            **{f.id: named_failure_page(f.id) for f in c.failures},
            **{f.id: function_page(f.id) for f in c.functions},
            **self._own_pages,
        }

    def prose(self, text: str) -> Markup:
        """An author's text as HTML; a link to an id leads to its page.

        What is not fitted to this airframe is named without a link.
        """
        return prose(text, self._linked_page)

    def _linked_page(self, target: str) -> str | None:
        page = target if ".html" in target else self._subjects.get(target)
        return page and self.resolve(page)

    @cached_property
    def named_in_effect(self) -> dict[str, tuple[str, ...]]:
        """By equipment: the other equipment that its text of what to do links to."""
        return {i: named_in_effect(self.network, i) for i in self.network.equipment}

    @cached_property
    def pages(self) -> dict[str, str]:
        """By component: the page that says what is lost with it."""
        return {
            **self._own_breakers,
            **{d.id: failure_page(d.id) for d in self.network.catalogue.devices},
            **{n: failure_page(n) for n in self.network.nodes},
        }

    @cached_property
    def _own_breakers(self) -> dict[str, str]:
        """Breakers written in a supply are on their equipment's page."""
        return {
            c.protector: f"{equipment_page(item)}#supplies"
            for item in self.network.equipment
            for c in self.network.connections[item]
            if c.protector
        }

    @cached_property
    def places(self) -> dict[str, Markup]:
        """By component on a panel or with a rating: placard, amps, panel, position."""
        return {c.id: self._place(c) for c in self.network.components.values()}

    def _place(self, component: Component) -> Markup:
        amps = NO_BREAK.rated(component.amps)
        panel = self.network.panel_names.get(component.panel or "", "")
        revised = component.id in self.revised
        return macro("place")(component.name, amps, panel, component.at, revised)

    def rated_text(self, component: str) -> str:
        """Its name, what it is rated for, and its place where it has one."""
        return f"{self.network.names[component]}{self._rating_and_place(component)}"

    def rated(self, component: str) -> Markup:
        """The same with the name as a link."""
        return self.links[component] + self._rating_and_place(component)

    def _rating_and_place(self, component: str) -> str:
        network, record = self.network, self.network.components[component]
        rating = NO_BREAK.rated(record.amps)
        # Where another has the same placard the name has its place already.
        place = network.positions[component] if network.names[component] == record.name else ""
        return (f" {rating}" if rating else "") + (f" ({place})" if place else "")

    def supply(self, connection: Connection) -> Markup:
        """A supply's breaker and its bus."""
        place = self.places[connection.protector] if connection.protector else ""
        return macro("supply")(place, self.links[connection.bus])

    @cached_property
    def rows(self) -> dict[str, Markup]:
        """By equipment: its name, its breakers and what to do without it, to go into a list."""
        return {
            i: macro("equipment")(
                e.name,
                equipment_page(i),
                [self.supply(c) for c in self.network.connections[i] if c.protector],
                self.prose(e.on_loss) if e.on_loss else "",
                self.hazard(i),
                i in self.revised,
            )
            for i, e in self.network.equipment.items()
        }

    @cached_property
    def chapters(self) -> dict[str, list[str]]:
        """By chapter title, rising: the equipment of the chapter, by ATA number and name."""
        by_chapter: dict[str, list[str]] = {}
        equipment = self.network.equipment
        for i in sorted(equipment, key=lambda i: (equipment[i].ata, equipment[i].name, i)):
            by_chapter.setdefault(chapter_title(chapter(equipment[i].ata)), []).append(i)
        return by_chapter

    def list(self, ids: Iterable[str], most: int | None = None) -> Markup:
        """Names as links, with commas; after `most` only how many more."""
        every = list(ids)
        shown = every if most is None or len(every) <= most + 1 else every[:most]
        # Joined as plain text: the links are safe already, and escaping each again takes long.
        text = ", ".join([str(self.links[i]) for i in shown])
        more = len(every) - len(shown)
        return Markup(f"{text} and {more} more" if more else text)
