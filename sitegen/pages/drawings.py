"""The drawings of one airframe: laid out once, marked for every page."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from markupsafe import Markup

from sitegen.answers.drop import Loss
from sitegen.catalogue.model import Then
from sitegen.diagram.dot_layout import Engine
from sitegen.diagram.drawing import Drawing, lay_out, no_link
from sitegen.diagram.numbering import NAMING, discs
from sitegen.diagram.parts import STATES, PartKey
from sitegen.diagram.plan import feed, overview
from sitegen.diagram.state_marks import legend, state_mark
from sitegen.pages.author_text import for_script
from sitegen.pages.drawing_states import (
    DrawnBranch,
    as_classes,
    drawn_branches,
    parts_in_order,
    states,
)
from sitegen.pages.links import bus_page, failure_page
from sitegen.pages.theme import macro
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Fault


@dataclass(frozen=True)
class DrawingText:
    """A drawing with its links filled in, and gaps for the states of its parts."""

    start: str
    parts: tuple[int, ...]
    """For each gap, which part's."""
    following: tuple[str, ...]
    """For each gap, the text after it."""


@dataclass(frozen=True)
class LiveView:
    """What one row of a page's views, a condition each, shows in the live drawing."""

    faults: Sequence[Fault] = ()
    thens: Sequence[Then] = ()
    """By condition what the crew does; empty while nobody has acted."""

    @property
    def written(self) -> dict[str, Any]:
        """As the script reads it; what is empty is left out."""
        found: dict[str, Any] = {"fails": self.faults} if self.faults else {}
        if not self.thens:
            return found
        first, *_ = thens = [
            then.model_dump(exclude_defaults=True, exclude={"note"}) for then in self.thens
        ]
        others = {k: then for k, then in enumerate(thens) if then != first}
        return {**found, "then": first, **({"thenIn": others} if others else {})}


@dataclass(frozen=True)
class AirframeDrawings:
    """One airframe's drawings."""

    network: Network
    _engine: Engine
    _texts: dict[str, DrawingText] = field(default_factory=dict)
    """By the drawing's title, which says what it shows."""
    _normal: dict[int, tuple[Loss, list[str]]] = field(default_factory=dict)
    """By its identity an answer with nothing failed, and the states of the parts in it."""

    @cached_property
    def _laid_out(self) -> list[Drawing]:
        return _lay_out_all([self.network], self._engine)[0]

    @property
    def whole(self) -> Drawing:
        """The whole wiring."""
        return self._laid_out[0]

    @cached_property
    def _title(self) -> str:
        # The picture says it: nothing need be laid out for a page whose script loads the drawing.
        return overview(self.network.catalogue).title

    @cached_property
    def feeds(self) -> dict[str, Drawing]:
        """By bus what feeds it."""
        buses = self.network.catalogue.buses
        return dict(zip((bus.id for bus in buses), self._laid_out[1:], strict=True))

    @cached_property
    def _wiring(self) -> tuple[DrawnBranch, ...]:
        return drawn_branches(self.network.catalogue)

    @cached_property
    def _pages(self) -> dict[str, str]:
        catalogue = self.network.catalogue
        return {
            **{s.id: failure_page(s.id) for s in catalogue.sources},
            **{d.id: failure_page(d.id) for d in catalogue.devices},
            **{b.id: bus_page(b.id) for b in catalogue.buses},
        }

    def _link(self, part: PartKey) -> str | None:
        return None if part.kind == "wire" else self._pages[part.id]

    @cached_property
    def marks(self) -> dict[str, Markup]:
        """By state: its mark, to be shown before a word."""
        return {state: state_mark(state) for state in STATES}

    @cached_property
    def legend(self) -> Markup:
        """The legend of the whole drawing."""
        return legend(self.whole)

    def live(self, views: Sequence[LiveView] = (LiveView(),), about: Iterable[str] = ()) -> Markup:
        """The box of the live drawing, and what a page's views mean.

        Parameters
        ----------
        views : in each row of the page's views, what has failed and what the crew does.
        about : the parts at which it opens, if not at what has failed.
        """
        return macro("drawing")(
            self._title,
            for_script([v.written for v in views]),
            " ".join(about),
        )

    @cached_property
    def unmarked(self) -> tuple[str, tuple[int, ...]]:
        """The whole drawing without states or links, and which part each of its elements shows.

        Parts are numbered as `states` has them.
        """
        text = self._text_of(self.whole, blank=False, resolve=lambda page: None)
        return "".join((text.start, *text.following)), text.parts

    def drawn(
        self,
        drawing: Drawing,
        losses: Sequence[Loss | None],
        blank: bool = False,
        resolve: Callable[[str], str | None] | None = None,
    ) -> Markup:
        """A drawing alone, marked for each view.

        Parameters
        ----------
        drawing : one of this airframe's.
        losses : by view, the answer; None for a view in plain ink, without states.
        blank : with a number beside each name, and nothing that a pointer could learn.
        resolve : the link to write for a part's page, or None; else the page itself.
        """
        text, by_part = self._by_part(drawing, losses, blank)
        if resolve:
            text = self._text_of(drawing, blank, resolve)
        return _filled(text, by_part)

    def _by_part(
        self, drawing: Drawing, losses: Sequence[Loss | None], blank: bool = False
    ) -> tuple[DrawingText, list[tuple[str, ...]]]:
        """The text of a drawing, and by part its states in each view."""
        title = f"{drawing.title}, blank" if blank else drawing.title
        if title not in self._texts:
            self._texts[title] = self._text_of(drawing, blank)
        return self._texts[title], list(zip(*map(self._states, losses), strict=True))

    def _states(self, loss: Loss | None) -> list[str]:
        if loss is None:
            return [""] * len(self._numbers)
        if loss.failed:
            return states(self.network, self._wiring, loss)
        # The answers with nothing failed come again on every page.
        if id(loss) not in self._normal:
            self._normal[id(loss)] = loss, states(self.network, self._wiring, loss)
        return self._normal[id(loss)][1]

    @cached_property
    def _numbers(self) -> dict[PartKey, int]:
        parts = parts_in_order(self.network.nodes, self._wiring)
        return {part: k for k, part in enumerate(parts)}

    def _text_of(
        self,
        drawing: Drawing,
        blank: bool,
        resolve: Callable[[str], str | None] = str,
    ) -> DrawingText:
        number = self._numbers
        parts: list[int] = []

        def note(part: PartKey) -> str:
            parts.append(number[part])
            return "\0"

        def link(part: PartKey) -> str | None:
            page = self._link(part)
            return resolve(page) if page else None

        text = str(drawing.render(note, no_link if blank else link))
        if blank:
            text = NAMING.sub("", text).replace("</svg>", f"{discs(drawing)}</svg>")
        start, *following = text.split("\0")
        return DrawingText(start, tuple(parts), tuple(following))


def _filled(text: DrawingText, by_part: Sequence[tuple[str, ...]]) -> Markup:
    out = [text.start]
    for part, following in zip(text.parts, text.following, strict=True):
        out += as_classes(by_part[part]), following
    return Markup("".join(out))


def draw_all(
    networks: Sequence[Network], dot: str | None = None, ahead: bool = True
) -> tuple[list[AirframeDrawings], tuple[str, ...]]:
    """The drawings of every airframe.

    Parameters
    ----------
    networks : one of each airframe.
    dot : another Graphviz `dot` command.
    ahead : lay out all of them now, in one run of the engine; else those of an airframe when one
        of them is asked for.

    Returns
    -------
    For each network its drawings; and what went wrong with a layout, if anything did.
    """
    engine = Engine(dot or "")
    of_airframes = [AirframeDrawings(network, engine) for network in networks]
    if not ahead:
        return of_airframes, ()
    laid_out = _lay_out_all(networks, engine)
    for of_one, drawings in zip(of_airframes, laid_out, strict=True):
        vars(of_one)["_laid_out"] = drawings
    notices = dict.fromkeys(d.notice for drawings in laid_out for d in drawings if d.notice)
    return of_airframes, tuple(notices)


def _lay_out_all(networks: Sequence[Network], engine: Engine) -> list[list[Drawing]]:
    """Of each network its whole drawing, and what feeds each bus."""
    catalogues = [network.catalogue for network in networks]
    pictures = [
        [overview(catalogue), *(feed(catalogue, (bus.id,)) for bus in catalogue.buses)]
        for catalogue in catalogues
    ]
    drawn = iter(lay_out([picture for of_one in pictures for picture in of_one], engine))
    return [[next(drawn) for _ in of_one] for of_one in pictures]
