"""The drawings of one airframe: laid out once, marked for every page."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from markupsafe import Markup

from sitegen.diagram.drawing import Drawing, lay_out, no_link
from sitegen.diagram.engine import Engine
from sitegen.diagram.marks import legend, state_mark
from sitegen.diagram.numbers import TELLS, discs
from sitegen.diagram.parts import STATES, PartKey
from sitegen.diagram.plan import Picture, feed, overview
from sitegen.network.drop import Loss
from sitegen.network.network import Network
from sitegen.pages.links import bus_page, failure_page
from sitegen.pages.marking import Stretch, as_classes, parts_in_order, states, stretches

FIGURE = Markup(
    '<figure class="picture {}"><input type=checkbox class=zoom id=zoom autocomplete=off>'
    '<div class=pan tabindex=0 role=region aria-label="{}">{}</div>'
    "<figcaption><label for=zoom><span class=to-full>Full size</span>"
    "<span class=to-fit>Whole picture</span></label>"
    "<details><summary>Legend</summary>{}</details></figcaption></figure>"
)


@dataclass(frozen=True)
class Stencil:
    """A drawing with its links filled in, and gaps for the states of its parts."""

    start: str
    parts: tuple[int, ...]
    """For each gap, which part's."""
    following: tuple[str, ...]
    """For each gap, the text after it."""


@dataclass(frozen=True)
class Pictures:
    """One airframe's drawings."""

    network: Network
    whole: Drawing
    feeds: dict[tuple[str, ...], Drawing]
    """By the buses that are fed, in the catalogue's order."""
    _done: dict[tuple[str, ...], Markup] = field(default_factory=dict)
    _stencils: dict[str, Stencil] = field(default_factory=dict)
    """By the drawing's title, which says what it shows."""

    @cached_property
    def _wiring(self) -> tuple[Stretch, ...]:
        return stretches(self.network.catalogue)

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
        """By state: its mark, to stand before a word."""
        return {state: state_mark(state) for state in STATES}

    def overview(self, losses: Sequence[Loss]) -> Markup:
        """Everything from the sources to the last bar, marked for each view of a page."""
        return self._marked(self.whole, losses, "wide")

    def feed(self, buses: Iterable[str], losses: Sequence[Loss]) -> Markup:
        """What feeds these buses with nothing failed, marked for each condition."""
        key = _in_order(self.network, buses)
        if key not in self._done:
            self._done[key] = self._marked(self.feeds[key], losses, "narrow")
        return self._done[key]

    def _marked(self, drawing: Drawing, losses: Sequence[Loss], width: str) -> Markup:
        svg = self.drawn(drawing, losses)
        return FIGURE.format(width, drawing.title, svg, legend_of(drawing))

    def drawn(self, drawing: Drawing, losses: Sequence[Loss | None], blank: bool = False) -> Markup:
        """A drawing alone, marked for each view.

        Parameters
        ----------
        drawing : one of this airframe's.
        losses : by view, how everything stands; None for a view in plain ink, without states.
        blank : with a number beside each name, and nothing that a pointer could learn.
        """
        title = f"{drawing.title}, blank" if blank else drawing.title
        stencil = self._stencils.get(title)
        if stencil is None:
            stencil = self._stencils[title] = self._stencil(drawing, blank)
        found = [
            [""] * (1 + max(stencil.parts, default=0))
            if loss is None
            else states(self.network, self._wiring, loss)
            for loss in losses
        ]
        by_part = list(zip(*found, strict=False))
        out = [stencil.start]
        for part, following in zip(stencil.parts, stencil.following, strict=True):
            out += as_classes(by_part[part]), following
        return Markup("".join(out))

    def _stencil(self, drawing: Drawing, blank: bool) -> Stencil:
        number = {
            part: k for k, part in enumerate(parts_in_order(self.network.nodes, self._wiring))
        }
        parts: list[int] = []

        def note(part: PartKey) -> str:
            parts.append(number[part])
            return "\0"

        text = str(drawing.render(note, no_link if blank else self._link))
        if blank:
            text = TELLS.sub("", text).replace("</svg>", f"{discs(drawing)}</svg>")
        start, *following = text.split("\0")
        return Stencil(start, tuple(parts), tuple(following))


_legends: dict[tuple[str, ...], Markup] = {}


def legend_of(drawing: Drawing) -> Markup:
    """The legend of what a drawing holds; drawings that hold the same share it."""
    if drawing.symbols not in _legends:
        _legends[drawing.symbols] = legend(drawing)
    return _legends[drawing.symbols]


def draw_all(
    networks: Sequence[Network], dot: str | None = None
) -> tuple[list[Pictures], tuple[str, ...]]:
    """Lay out every drawing of every airframe, in one run of the engine.

    Returns
    -------
    For each network its pictures; and what went wrong with the layout, if anything did.
    """
    wanted: list[tuple[int, tuple[str, ...], Picture]] = []
    for i, network in enumerate(networks):
        wanted.append((i, (), overview(network.catalogue)))
        keys: list[tuple[str, ...]] = [(b.id,) for b in network.catalogue.buses]
        keys += [
            _in_order(network, (c.bus for c in network.connections[item]))
            for item in network.equipment
        ]
        wanted += [(i, key, feed(network.catalogue, key)) for key in dict.fromkeys(keys)]
    drawn = lay_out([picture for _, _, picture in wanted], Engine(dot or ""))
    notices = dict.fromkeys(d.notice for d in drawn if d.notice)
    found: list[dict[tuple[str, ...], Drawing]] = [{} for _ in networks]
    for (i, key, _), drawing in zip(wanted, drawn, strict=True):
        found[i][key] = drawing
    return [Pictures(n, f[()], f) for n, f in zip(networks, found, strict=True)], tuple(notices)


def _in_order(network: Network, buses: Iterable[str]) -> tuple[str, ...]:
    named = set(buses)
    return tuple(n for n in network.nodes if n in named)
