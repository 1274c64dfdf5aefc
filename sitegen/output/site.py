"""A catalogue -> the text of every file of its site."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.answers.changes import changes
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.read import ReadResult
from sitegen.catalogue.serials import ranges
from sitegen.output.offline import FileEntry, file_entry, file_list, manifest
from sitegen.output.pocket import pocket_edition
from sitegen.output.workers import in_workers
from sitegen.pages import failure_page, front_page, handout
from sitegen.pages.a_to_z_page import find_rows
from sitegen.pages.change_bars import revision_since
from sitegen.pages.drawings import draw_all
from sitegen.pages.fragments.names_and_rows import Fragments
from sitegen.pages.links import FILES, MANIFEST
from sitegen.pages.minifier import short_pages
from sitegen.pages.page_context import DataFile, Page, PageContext, PageKind, frame
from sitegen.pages.page_list import PAGES
from sitegen.pages.theme import (
    FROM_THE_WEB,
    SERVICE_WORKER,
    SHARED,
    shared_files,
    with_policy,
)
from sitegen.pages.views import views_of
from sitegen.solver.network import build
from sitegen.words import counted

FAILURES = (failure_page.SINGLE, failure_page.NAMED)
"""The kinds of page that take about half of the time."""

Kinds = Sequence[PageKind[Any] | DataFile]


@dataclass(frozen=True)
class Site:
    """A site to be written."""

    count: int
    """How many files there will be."""
    files: Iterator[tuple[str, str | bytes]]
    """(path, content), made as they are asked for."""
    notices: tuple[str, ...]
    """What a person should know about how the site came out."""
    contexts: tuple[PageContext, ...]
    """What the pages of each airframe are made from."""
    handouts: tuple[str, ...] = ()
    """The paths of the pages that are made to print."""
    pages: Mapping[str, Page] = field(default_factory=dict)
    """By path, what makes a page when it is asked for."""
    shared: Mapping[str, str | bytes] = field(default_factory=dict)
    """By path, the files that are there before any page is made."""

    def make(self, path: str) -> str | bytes | None:
        """One file by itself; None if the site has no such file."""
        page = self.pages.get(path)
        return with_policy(page.make()) if page else self.shared.get(path)


def build_site(
    reading: ReadResult,
    dot: str | None = None,
    width: int = 1,
    more: Kinds = (),
    paper: str | None = None,
    airframe: str | None = None,
    since: ReadResult | None = None,
    by_page: bool = False,
    smallest: bool = False,
) -> Site:
    """Plan a whole site.

    Parameters
    ----------
    reading : a catalogue without errors.
    dot : another Graphviz `dot` command to place the diagrams with.
    width : how many processes may make pages at once (`sitegen.output.workers`).
    more : further kinds of page, after those of `PAGES`.
    paper : `a4` or `letter`, for all handouts; left out, as the catalogue says.
    airframe : the one airframe that is wanted, by id; else all of them.
    since : an older revision without errors: what has changed has a page, and bars in the margin.
    by_page : for one page soon (`Site.make`), rather than for all of them in the least time; no
        device keeps such pages.
    smallest : pages without what only a person who reads their source needs.
    """
    catalogue = reading.catalogue
    if catalogue is None:
        raise ValueError("the catalogue has errors")
    wanted = [a.id for a in catalogue.airframes if airframe in (None, a.id)]
    networks = [build(catalogue, one) for one in wanted]
    drawn, notices = draw_all(networks, dot, ahead=not by_page)
    changed = changes(since, reading) if since else None
    paths: dict[str, frozenset[str]] = {}
    jobs: list[list[Page]] = []
    shares = []
    printed: list[str] = []
    contexts: list[PageContext] = []
    for network, drawings in zip(networks, drawn, strict=True):
        answers = AirframeAnswers(reading, network, together=not by_page)
        revision = revision_since(changed, since, answers) if changed and since else None
        lines = revision.lines if revision else frozenset()
        fragments = Fragments(network, tuple(n.id for n in reading.notes), revised=lines)
        context = PageContext(answers, fragments, drawings, paths, paper, revision)
        contexts.append(context)
        printed += [page.path for page in handout.PAGE.pages(context)]
        # The pages of a job share their answers: an airframe is divided only where a processor
        # would be left without one.
        failures, others = (
            [
                page
                for kind in (*PAGES, *more)
                if (kind in FAILURES) == of_failures
                for page in kind.pages(context)
            ]
            for of_failures in (True, False)
        )
        pages = others + failures
        folder = f"{network.airframe}/"
        paths[network.airframe] = frozenset(page.path.removeprefix(folder) for page in pages)
        jobs += [others, failures] if len(networks) < width else [pages]
        buses = counted(len(network.catalogue.buses), "bus", "buses")
        share = f"{counted(len(network.equipment), 'item')} on {buses}"
        shares.append((answers.airframe, share, revision.since if revision else ""))
    jobs.insert(0, [front_page.fleet_page(catalogue, shares)])
    names = (*SHARED, *(("icon.svg",) if by_page else FROM_THE_WEB))
    shared: list[tuple[str, str | bytes]] = [
        (name, content + _serials(catalogue) if name == "serial.js" else content)
        for name, content in shared_files(names, views_of(catalogue))
    ]
    shared.append((MANIFEST, manifest(catalogue)))

    def files() -> Iterator[tuple[str, str | bytes]]:
        yield from shared
        # What every airframe's list names: all but the script that works by the lists.
        common = [file_entry(*file) for file in shared if file[0] != SERVICE_WORKER]
        by_folder: dict[str, list[FileEntry]] = {}
        for made in in_workers([partial(_made, job, smallest) for job in jobs], width):
            for path, content, line in made:
                yield path, content
                by_folder.setdefault(path.rpartition("/")[0], []).append(line)
        common += by_folder.pop("", [])
        for folder, lines in by_folder.items():
            yield f"{folder}/{FILES}", file_list(catalogue, common + lines)

    count = len(shared) + sum(map(len, jobs)) + len(networks)
    by_path = {page.path: page for job in jobs for page in job}
    return Site(count, files(), notices, tuple(contexts), tuple(printed), by_path, dict(shared))


def build_pocket(
    reading: ReadResult,
    airframe: str,
    dot: str | None = None,
    width: int = 1,
    more: Kinds = (),
    paper: str | None = None,
    since: ReadResult | None = None,
) -> tuple[str, tuple[str, ...]]:
    """One airframe's pages as a single file: its text, and notices for a person.

    Parameters
    ----------
    reading : a catalogue without errors.
    airframe : its id.
    dot, width, more, paper, since : as for `build_site`.
    """
    site = build_site(reading, dot, width, more, paper, airframe, since, smallest=True)
    folder = f"{airframe}/"
    files = {
        path.removeprefix(folder): content
        for path, content in site.files
        if path.startswith(folder) and isinstance(content, str) and not path.endswith(f"/{FILES}")
    }
    assert reading.catalogue is not None
    name = next(a.name for a in reading.catalogue.airframes if a.id == airframe)
    values = {**frame(reading.catalogue), "airframe": name}
    shared = {n: c.decode() for n, c in shared_files(views=views_of(reading.catalogue))}
    return pocket_edition(files, values, find_rows(site.contexts[0]), shared), site.notices


def _serials(catalogue: Catalogue) -> bytes:
    """The last line of the script that knows them: by airframe its name and its ranges."""
    found = {a.id: [a.name, ranges(a.serials)] for a in catalogue.airframes if a.serials}
    return f"site.serials = {json.dumps(found)};\n".encode()


def _made(pages: list[Page], smallest: bool) -> list[tuple[str, str, FileEntry]]:
    texts = {page.path: page.make() for page in pages}
    if smallest:
        whole = [path for path in texts if path.endswith(".html")]
        texts |= zip(whole, short_pages([texts[path] for path in whole]), strict=True)
    made = [(path, with_policy(text)) for path, text in texts.items()]
    return [(path, content, file_entry(path, content)) for path, content in made]
