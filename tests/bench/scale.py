"""One large aircraft: a block of the demo repeated in one airframe, its copies joined bus to bus.

Each copy has the demo's buses, sources, equipment, failures, functions and lamps under ids of its
own, and a fuse link from its aft bus to the forward bus of the next. What is measured is a whole
process, its modules compiled as an installation has them: seconds, and the most memory that one
process had.

`python -m tests.bench.scale [--copies 1 3 10] [--only drop loads ...] [--limit 600]`.
"""

from __future__ import annotations

import argparse
import compileall
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

import sitegen
from sitegen.resources import demo_catalogue

PACKAGE = Path(sitegen.__file__).parent

BLOCK = "block-1"
COMMANDS = {
    "inspect": ["inspect", "{catalogue}"],
    "drop": ["drop", "{catalogue}", "forward:shorted"],
    "loads": ["loads", "{catalogue}"],
    "trace": ["trace", "{catalogue}", "com-1"],
    "troubleshoot": ["troubleshoot", "{catalogue}", "--dead", "com-1"],
    "publish": ["publish", "{catalogue}", "--to", "{site}"],
}
ONCE = ("format", "aircraft", "airframes", "load-columns", "battery-time", "handout")
"""Sections of which the large aircraft has one."""
BY_ID = ("switches", "volts-above", "volts-below", "failed")
"""What has ids as keys."""
OF_IDS = ("sources", "held-closed", "provided-by", "pulled", "shed", "independent")
SET_IN_CONDITIONS = {"sources", "held-closed", "switches"}
NOT_IDS = (
    "kind",
    "current",
    "colour",
    "ata",
    "name",
    "loads",
    "title",
    "where",
    "wire",
    "landing-column",
)


def catalogue(copies: int) -> dict[str, Any]:
    """The large aircraft, as sections of a catalogue."""
    demo: dict[str, Any] = {}
    for path in sorted(demo_catalogue().glob("*.yaml")):
        for section, records in yaml.safe_load(path.read_text(encoding="utf-8")).items():
            if isinstance(records, list):
                demo.setdefault(section, []).extend(r for r in map(_of_block, records) if r)
            else:
                demo[section] = records
    ids = set(_ids(demo))
    demo = {s: r if s in ONCE else _fitted(r, ids) for s, r in demo.items()}
    repeated = {s: r for s, r in demo.items() if s not in (*ONCE, "conditions", "abbreviations")}
    large = {s: r for s, r in demo.items() if s not in repeated}
    large["airframes"] = [a for a in demo["airframes"] if a["id"] == BLOCK]
    large["handout"] = [{**h, "notes": []} for h in demo["handout"]]
    large["conditions"] = conditions = [dict(c) for c in demo["conditions"]]
    first = [dict(c) for c in conditions]
    for number in range(1, copies + 1):
        for section, records in repeated.items():
            large.setdefault(section, []).extend(_renamed(records, ids, number))
    for number in range(2, copies + 1):
        for condition, once in zip(conditions, first, strict=True):
            here = _renamed(once, ids, number)
            for key in SET_IN_CONDITIONS & once.keys():
                more = {**condition[key], **here[key]} if key == "switches" else None
                condition[key] = more or [*condition[key], *here[key]]
    for number in range(1, copies):
        link = f"join-{number}"
        large["devices"].append(
            {"id": link, "name": f"Link {number}", "kind": "fuse-link", "amps": 275}
        )
        ends = _named("aft", number), _named("forward", number + 1)
        large["feeders"].append({"from": ends[0], "to": ends[1], "through": [link]})
    return large


def _named(record: str, number: int) -> str:
    return record if number == 1 else f"{record}-copy-{number}"


def _ids(value: Any) -> Iterator[str]:
    """The ids of records, and of breakers and fuses in their supplies."""
    if isinstance(value, list):
        for v in value:
            yield from _ids(v)
    elif isinstance(value, dict):
        yield from (value["id"],) if "id" in value else ()
        for v in value.values():
            yield from _ids(v)


def _fitted(value: Any, ids: set[str]) -> Any:
    """The value without ids that the block does not have."""
    if isinstance(value, list):
        return [_fitted(v, ids) for v in value]
    if not isinstance(value, dict):
        return value
    found = {}
    for key, v in value.items():
        if key in BY_ID and isinstance(v, dict):
            v = {i: x for i, x in v.items() if i in ids}
        elif key in OF_IDS and isinstance(v, list):
            v = [i for i in v if not isinstance(i, str) or i.partition(":")[0] in ids]
        found[key] = _fitted(v, ids)
    return found


def _of_block(value: Any) -> Any:
    """The value without what is fitted to other blocks, and without links in its texts."""
    if isinstance(value, str):
        return re.sub(r"\[([^\]]*)\]\([\w-]+\)", r"\1", value)
    if isinstance(value, list):
        return [v for v in map(_of_block, value) if v is not None]
    if isinstance(value, dict):
        if BLOCK not in value.get("fitted-to", [BLOCK]):
            return None
        pairs = ((k, _of_block(v)) for k, v in value.items() if k != "fitted-to")
        # To this parser the field `on` of a check is true.
        return {"on" if k is True else k: v for k, v in pairs if v is not None}
    return value


def _renamed(value: Any, ids: set[str], number: int) -> Any:
    """The value with the ids of a copy, and its names marked."""
    if number == 1:
        return value
    if isinstance(value, list):
        return [_renamed(v, ids, number) for v in value]
    if isinstance(value, dict):
        found = {}
        for key, v in value.items():
            if key == "name" and "id" in value:
                found[key] = f"{v} ({number})"
            elif key in BY_ID and isinstance(v, dict):
                found[key] = {
                    _renamed(i, ids, number): _renamed(x, ids, number) for i, x in v.items()
                }
            else:
                found[key] = v if key in NOT_IDS else _renamed(v, ids, number)
        return found
    if isinstance(value, str):
        record, colon, mode = value.partition(":")
        if record in ids and " " not in mode:
            return _named(record, number) + colon + mode
    return value


def main() -> None:
    parser = argparse.ArgumentParser(description="commands on one large aircraft")
    parser.add_argument("--copies", type=int, nargs="*", default=[1, 3, 10])
    parser.add_argument("--only", nargs="*", default=list(COMMANDS), choices=list(COMMANDS))
    parser.add_argument("--limit", type=float, default=600, help="seconds for a command (600)")
    parser.add_argument("--write", type=Path, help="write the catalogues here and measure nothing")
    arguments = parser.parse_args()
    compileall.compile_dir(PACKAGE, quiet=1)
    with tempfile.TemporaryDirectory() as work:
        folder = arguments.write or Path(work)
        for copies in arguments.copies:
            file = folder / f"large-{copies}.yaml"
            large = catalogue(copies)
            file.write_text(yaml.safe_dump(large, sort_keys=False, allow_unicode=True))
            if arguments.write:
                continue
            print(f"x{copies}: {len(large['buses'])} buses, {len(large['equipment'])} items")
            for name in arguments.only:
                site = Path(work) / "site"
                words = [w.format(catalogue=file, site=site) for w in COMMANDS[name]]
                seconds, peak = _run([sys.executable, "-m", "sitegen", *words], arguments.limit)
                print(f"  {name:13}{seconds:8.2f} s {peak:7.0f} MB", flush=True)
                shutil.rmtree(site, ignore_errors=True)


def _run(command: list[str], limit: float) -> tuple[float, float]:
    """Seconds and the most memory of a process, MB; the limit where it does not end in time."""
    started = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    peak = 0.0
    while process.poll() is None and time.perf_counter() - started < limit:
        peak = max(peak, _megabytes(process.pid))
        time.sleep(0.02)
    process.kill()
    _, errors = process.communicate()
    if process.returncode > 0:
        raise SystemExit(errors.decode())
    return time.perf_counter() - started, peak


def _megabytes(pid: int) -> float:
    try:
        status = Path(f"/proc/{pid}/status").read_text()
    except OSError:
        return 0.0
    found = re.search(r"VmHWM:\s+(\d+) kB", status)
    return int(found[1]) / 1024 if found else 0.0


if __name__ == "__main__":
    main()
