"""Publishing: the demo catalogue, and a fleet ten times as large; whole processes.

The fleet is the demo's ten times over: each airframe block becomes ten, and each record is written
ten times, fitted to its own blocks. So there are ten times as many records to read and check, ten
times as many airframes to answer for, and ten times as many pages, each as long as the demo's.

Run by hand: `python -m tests.bench.publish`.
"""

from __future__ import annotations

import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import yaml

from sitegen.resources import demo_catalogue

COPIES = 10
KEPT = ("load-columns",)
"""Sections whose records belong to the whole fleet."""


def main() -> None:
    with tempfile.TemporaryDirectory() as work:
        folder = Path(work)
        fleet = folder / "fleet"
        write_fleet(demo_catalogue(), fleet)
        demo = measured("demo", demo_catalogue(), folder / "site", runs=5)
        ten = measured("ten times the demo", fleet, folder / "site", runs=3)
        print(f"ten times the catalogue takes {ten / demo:.1f} times as long")


def measured(name: str, catalogue: Path, site: Path, runs: int) -> float:
    """The median seconds of publishing a catalogue; prints them."""
    seconds = []
    for _ in range(runs):
        shutil.rmtree(site, ignore_errors=True)
        started = time.perf_counter()
        subprocess.run(
            [sys.executable, "-m", "sitegen", "publish", str(catalogue), "--to", str(site)],
            check=True,
            capture_output=True,
        )
        seconds.append(time.perf_counter() - started)
    files = [f for f in site.rglob("*") if f.is_file()]
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    median = statistics.median(seconds)
    megabytes = sum(f.stat().st_size for f in files) / 1e6
    print(
        f"{name}: {median:.2f} s ({min(seconds):.2f} to {max(seconds):.2f}, {runs} runs),"
        f" {len(files)} files, {megabytes:.0f} MB, peak so far {peak:.0f} MB"
    )
    return median


def write_fleet(demo: Path, fleet: Path) -> None:
    """The demo's catalogue with everything in it ten times, each for its own airframes."""
    shutil.copytree(demo / "notes", fleet / "notes")
    files = [yaml.safe_load(p.read_text(encoding="utf-8")) for p in sorted(demo.glob("*.yaml"))]
    blocks = [a["id"] for file in files for a in file.get("airframes", ())]
    for number, file in enumerate(files):
        sections = {
            name: section
            if not isinstance(section, list) or name in KEPT
            else [_copy(name, record, c, blocks) for c in range(COPIES) for record in section]
            for name, section in file.items()
        }
        text = yaml.safe_dump(sections, sort_keys=False, allow_unicode=True)
        (fleet / f"{number:02}.yaml").write_text(text, encoding="utf-8")


def _copy(section: str, record: dict[str, Any], copy: int, blocks: list[str]) -> dict[str, Any]:
    if section == "airframes":
        return {**record, "id": f"{record['id']}-{copy}", "name": f"{record['name']}, fleet {copy}"}
    return {"fitted-to": [f"{b}-{copy}" for b in blocks], **_refitted(record, copy)}


def _refitted(value: Any, copy: int) -> Any:
    if isinstance(value, list):
        return [_refitted(v, copy) for v in value]
    if isinstance(value, dict):
        return {
            k: [f"{b}-{copy}" for b in v] if k == "fitted-to" else _refitted(v, copy)
            for k, v in value.items()
        }
    return value


if __name__ == "__main__":
    main()
