"""The layout engine: `dot` gives the x of each item, in the order of `order.py`, and no more."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sysconfig
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

from graphviz import Digraph

from sitegen.diagram.rows import Item, Rows

ENVIRONMENT = "SITEGEN_DOT"
"""The environment variable that names another dot."""


@dataclass(frozen=True)
class Engine:
    """Which dot to run, and how long it may take."""

    command: str = ""
    """Path or name; empty: `SITEGEN_DOT` if set, else the one that sitegen is installed with."""
    seconds: float = 30.0

    def executable(self) -> str | None:
        """The full path of the executable, or None if there is none."""
        named = self.command or os.environ.get(ENVIRONMENT, "")
        if named:
            return shutil.which(named)
        scripts = Path(sysconfig.get_path("scripts"))
        return shutil.which("graphviz-pure", path=str(scripts)) or shutil.which("graphviz-pure")


def x_positions(requests: Sequence[Rows], engine: Engine) -> tuple[list[Mapping[str, float]], str]:
    """The x of each item of each picture, from one call of the engine.

    Returns
    -------
    For each picture a mapping from item name to the x of its axis (of bars: of their left end),
    and a notice, empty if all went well. If the engine is missing, fails or takes too long,
    items are packed in the order of their rows instead.
    """
    if not requests:
        return [], ""
    sources = [_dot_source(r) for r in requests]
    # Two pictures that differ in their titles only are laid out once.
    distinct = list(dict.fromkeys(sources))
    replies, notice = _call("".join(distinct), len(distinct), engine)
    if notice:
        return [_packed(r) for r in requests], notice
    answers = dict(zip(distinct, replies, strict=True))
    placed = [_read(rows, answers[source]) for rows, source in zip(requests, sources, strict=True)]
    if any(p is None for p in placed):
        notice = "The layout engine left something out; that drawing is packed in listed order."
    return [p or _packed(r) for p, r in zip(placed, requests, strict=True)], notice


def _call(text: str, count: int, engine: Engine) -> tuple[list[Any], str]:
    command = engine.executable()
    packed = "The drawings are packed in the order of the catalogue instead."
    if command is None:
        missing = engine.command or os.environ.get(ENVIRONMENT, "") or "graphviz-pure"
        return [], f"The layout engine {missing} is not installed. {packed}"
    try:
        done = subprocess.run(
            [command, "-Kdot", "-Tjson"],
            input=text,
            capture_output=True,
            encoding="utf-8",
            timeout=engine.seconds,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return [], f"The layout engine took more than {engine.seconds:g} seconds. {packed}"
    except OSError as error:
        return [], f"The layout engine could not be started ({error.strerror}). {packed}"
    except UnicodeDecodeError:
        return [], f"The layout engine gave no readable answer. {packed}"
    if done.returncode != 0:
        return [], f"The layout engine failed (exit {done.returncode}). {packed}"
    try:
        answers = _objects(done.stdout)
    except ValueError:
        return [], f"The layout engine gave no readable answer. {packed}"
    if len(answers) != count:
        return [], f"The layout engine drew {len(answers)} of {count} pictures. {packed}"
    return answers, ""


def _objects(text: str) -> list[Any]:
    """The JSON objects, one after another, of the engine's answer."""
    decoder = json.JSONDecoder()
    objects = []
    start = 0
    while start < len(text):
        if text[start].isspace() or text[start] == ",":
            start += 1
            continue
        value, start = decoder.raw_decode(text, start)
        objects.append(value)
    return objects


def _dot_source(rows: Rows) -> str:
    """A picture in the DOT language.

    Each row is one rank; invisible edges hold the ranks, and the items in each, in order.
    """
    gap = rows.measure.gap
    graph = Digraph(
        graph_attr={"splines": "false", "nodesep": f"{gap / 72:.4f}", "ranksep": "0.3"},
        node_attr={"shape": "plain", "margin": "0"},
        edge_attr={"dir": "none"},
    )
    filled = [row for row in rows.rows if row]
    for row in filled:
        with graph.subgraph() as rank:
            rank.attr(rank="same")
            for item in row:
                rank.node(item.name, label=_table(item))
    for row in filled:
        for left, right in pairwise(row):
            graph.edge(left.name, right.name, style="invis", weight=f"{rows.measure.pull}")
    for above, below in pairwise(filled):
        graph.edge(above[0].name, below[0].name, style="invis", weight="0")
    kind = {item.name: item for row in rows.rows for item in row}
    for link in rows.links:
        if not link.over:
            weight = _weight(kind[link.upper], kind[link.lower])
            upper = _end(link.upper, link.upper_bus)
            graph.edge(upper, _end(link.lower, link.lower_bus), weight=f"{weight}")
    return str(graph.source)


def _weight(upper: Item, lower: Item) -> int:
    """How hard to pull a wire straight: hardest where neither end is a bar that can be long."""
    if "bars" not in (upper.kind, lower.kind):
        return 120
    return 20


def _end(name: str, bus: str) -> str:
    port = f"b-{bus}" if bus else "axis"
    return f"{name}:{port}"


def _table(item: Item) -> str:
    """An item's width as a table: its axis is the middle of a cell, and so is each bar."""
    if item.kind == "bars":
        cells = [(f"b-{c.id}" if c.id else "", c.width) for c in item.cells]
    else:
        least = min(item.left, item.right)
        before, after = item.left - least, item.right - least
        cells = [("", before)] * (before > 0) + [("axis", 2 * least)] + [("", after)] * (after > 0)
    inside = "".join(
        f'<TD FIXEDSIZE="TRUE" HEIGHT="20" WIDTH="{max(round(width), 1)}"'
        + (f' PORT="{port}"' if port else "")
        + "></TD>"
        for port, width in cells
    )
    table = '<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0">'
    return f"<{table}<TR>{inside}</TR></TABLE>>"


def _read(rows: Rows, answer: Any) -> Mapping[str, float] | None:
    """The axes of one picture out of the engine's answer, None if some item is not in it."""
    centres: dict[str, float] = {}
    for node in answer.get("objects", []) if isinstance(answer, dict) else []:
        try:
            centres[node["name"]] = float(node["pos"].split(",")[0])
        except (KeyError, TypeError, ValueError, AttributeError):
            continue
    placed: dict[str, float] = {}
    for row in rows.rows:
        for item in row:
            if item.name not in centres:
                return None
            width = item.left + item.right
            placed[item.name] = round(centres[item.name] - width / 2 + item.left, 1)
    return placed


def _packed(rows: Rows) -> Mapping[str, float]:
    """Every row from the left in the author's order, the rows centred on each other."""
    gap = rows.measure.gap
    widths = [sum(i.left + i.right + gap for i in row) for row in rows.rows]
    placed: dict[str, float] = {}
    for row, width in zip(rows.rows, widths, strict=True):
        x = (max(widths) - width) / 2
        for item in row:
            placed[item.name] = round(x + item.left, 1)
            x += item.left + item.right + gap
    return placed
