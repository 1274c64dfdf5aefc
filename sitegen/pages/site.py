"""A catalogue -> the text of every file of its site."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sitegen.catalogue.read import Reading
from sitegen.network.network import build
from sitegen.pages import a_to_z, audit, bus, equipment, failure, front, function, notes, which
from sitegen.pages.answers import Answers
from sitegen.pages.pictures import draw_all
from sitegen.pages.pieces import Pieces
from sitegen.pages.sheet import Page, Sheet
from sitegen.pages.theme import shared_files
from sitegen.pages.words import counted

KINDS_OF_PAGE = (
    front.pages,
    bus.pages,
    failure.pages,
    equipment.pages,
    function.pages,
    audit.pages,
    which.pages,
    a_to_z.pages,
    notes.pages,
)
"""What an airframe's folder holds, kind by kind. A new kind of page is one more line here."""


@dataclass(frozen=True)
class SiteFile:
    """One file of the site: its path below the site's folder, and what it holds."""

    path: str
    content: str | bytes


@dataclass(frozen=True)
class Site:
    """A site to be written."""

    count: int
    """How many files there will be."""
    files: Iterator[tuple[str, str | bytes]]
    """(path, content); each page is made when it is asked for."""
    notices: tuple[str, ...]
    """What a person should know about how the site came out."""


def build_site(reading: Reading, dot: str | None = None) -> Site:
    """Plan a whole site.

    Parameters
    ----------
    reading : a catalogue without errors.
    dot : another Graphviz `dot` command to place the diagrams with.
    """
    catalogue = reading.catalogue
    if catalogue is None:
        raise ValueError("the catalogue has errors")
    networks = [build(catalogue, airframe.id) for airframe in catalogue.airframes]
    drawn, notices = draw_all(networks, dot)
    paths: dict[str, frozenset[str]] = {}
    planned: list[Page] = []
    shares = []
    for network, pictures in zip(networks, drawn, strict=True):
        answers = Answers(reading, network)
        sheet = Sheet(answers, Pieces(network, tuple(n.id for n in reading.notes)), pictures, paths)
        pages = [page for kind in KINDS_OF_PAGE for page in kind(sheet)]
        folder = f"{network.airframe}/"
        paths[network.airframe] = frozenset(page.path.removeprefix(folder) for page in pages)
        planned.extend(pages)
        buses = counted(len(network.catalogue.buses), "bus", "buses")
        shares.append((answers.airframe, f"{counted(len(network.equipment), 'item')} on {buses}"))
    planned.insert(0, front.fleet_page(catalogue, shares))
    shared = list(shared_files())

    def files() -> Iterator[tuple[str, str | bytes]]:
        yield from shared
        for page in planned:
            yield page.path, page.make()

    return Site(len(shared) + len(planned), files(), notices)


def site_files(reading: Reading, dot: str | None = None) -> Iterator[SiteFile]:
    """Every file of a site, one after another."""
    for path, content in build_site(reading, dot).files:
        yield SiteFile(path, content)
