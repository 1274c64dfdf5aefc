"""A small, faultless catalogue, and the means to spoil it in one place.

In a spoilt text the mark ¤ shows where the finding must stand; it is taken out before reading.
"""

# Catalogue lines are quoted whole, so that they can be found again.
# ruff: noqa: E501

from __future__ import annotations

import tempfile
from pathlib import Path

from click.testing import CliRunner, Result

from sitegen.catalogue.findings import Finding, Place
from sitegen.catalogue.read import ReadResult, read
from sitegen.cli import commands

MARK = "¤"

SAMPLE = """\
format: 1
aircraft: {name: Heron 3, revision: "2", revised: 2026-11-20}
airframes:
  - {id: early, name: Serials 1 to 9}
  - {id: late, name: Serials 10 and after}
sources:
  - {id: gen, name: Generator, kind: generator, volts: 28.5, amps: 200}
  - {id: bat, name: Battery, kind: battery, volts: 24, amp-hours: 30}
  - {id: inv, name: Inverter, kind: converter, volts: 115, current: ac, amps: 2, fed-from: {bus: main, through: [cb-inv]}}
buses:
  - {id: main, name: Main bus}
  - {id: essential, name: Essential bus}
  - {id: ac, name: AC bus, current: ac}
devices:
  - {id: k-gen, name: Line contactor, kind: contactor, closes-when: {switches: {gen-switch: "on"}, live: [gen]}}
  - {id: k-bat, name: Battery relay, kind: relay, closes-when: {switches: {bat-switch: "on"}}}
  - {id: d-ess, name: Essential diode, kind: diode}
  - {id: fl-ess, name: Essential fuse link, kind: fuse-link, amps: 60}
  - {id: cb-inv, name: INVERTER, kind: breaker, amps: 20, panel: wall, at: A1}
  - {id: cb-strobe, name: STROBE, kind: breaker, amps: 10, panel: wall, at: A2}
feeders:
  - {from: gen, to: main, through: [k-gen]}
  - {from: bat, to: main, through: [k-bat]}
  - {from: main, to: essential, through: [fl-ess, d-ess]}
  - {from: inv, to: ac}
switches:
  - {id: gen-switch, name: Generator switch, positions: ["off", "on"]}
  - {id: bat-switch, name: Battery switch, positions: ["off", "on"]}
panels:
  - {id: wall, name: Side wall, where: beside the right seat, rows: [A, B], columns: 8}
load-columns:
  - {id: cruise, name: Cruise}
  - {id: approach, name: Approach}
equipment:
  - id: att-1
    name: Attitude 1
    ata: 34-21
    supplies: [{bus: essential, breaker: {name: ATT 1, amps: 5, panel: wall, at: B1}}]
    amps: {cruise: 1.5, approach: 1.5}
  - id: att-2
    name: Attitude 2
    ata: 34-21
    supplies: [{bus: ac, breaker: {name: ATT 2, amps: 1, panel: wall, at: B2}}]
    amps: 0.2
  - id: pilot
    name: Autopilot
    ata: 22
    supplies: [{bus: main, breaker: {name: AP, amps: 5, panel: wall, at: B3}}]
    amps: 3
    requires: [{any: [att-1, att-2]}]
  - id: strobe-left
    name: Left strobe
    ata: 33-40
    supplies: [{bus: main, breaker: cb-strobe}]
    amps: 2
  - id: strobe-right
    name: Right strobe
    ata: 33-40
    supplies: [{bus: main, breaker: cb-strobe}]
    amps: 2
conditions:
  - {id: cruise, name: Cruise, sources: [gen, bat], switches: {gen-switch: "on", bat-switch: "on"}, loads: cruise}
failures:
  - {id: gen-out, name: Generator lost, failed: [gen], then: {shed: [strobe-left], switches: {gen-switch: "off"}}}
indications:
  - {id: volts, name: Main voltmeter, kind: voltmeter, at: main}
  - {id: gen-off, name: GEN lamp, kind: lamp, lit-when: {open: [k-gen]}}
functions:
  - {id: attitude, name: Attitude, provided-by: [att-1, att-2], essential: true, independent: [[att-1, att-2]]}
battery-time: {landing-column: approach}
"""


def read_texts(texts: dict[str, str | bytes]) -> ReadResult:
    """Read a catalogue of these files, given by their names."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "tern"
        folder.mkdir()
        for file, text in texts.items():
            path = folder / file
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read(folder)


def run(text: str, *arguments: str) -> Result:
    """What a command prints about a catalogue of one file, `heron.yaml`."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "heron.yaml"
        path.write_text(text)
        command, *rest = arguments
        return CliRunner().invoke(commands, [command, str(path), *rest])


def spoilt(*changes: tuple[str, str], text: str = SAMPLE) -> str:
    """The sample with each first text, which must occur in it once, replaced by the second."""
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the sample"
        text = text.replace(old, new)
    return text


def marked(text: str, file: str = "all.yaml") -> tuple[str, list[Place]]:
    """The text without its marks, and the places where they stood."""
    places = []
    lines = text.split("\n")
    for number, line in enumerate(lines, 1):
        while MARK in line:
            places.append(Place(file, number, line.index(MARK) + 1))
            line = line.replace(MARK, "", 1)
        lines[number - 1] = line
    return "\n".join(lines), places


def findings_of(*changes: tuple[str, str], text: str = SAMPLE) -> list[Finding]:
    """All findings in the spoilt sample."""
    return list(read_texts({"all.yaml": marked(spoilt(*changes, text=text))[0]}).findings)


def only_finding(*changes: tuple[str, str], text: str = SAMPLE) -> Finding:
    """The one finding in the spoilt sample, which must be where the mark is."""
    plain, places = marked(spoilt(*changes, text=text))
    findings = read_texts({"all.yaml": plain}).findings
    assert len(findings) == 1, "\n".join(map(str, findings)) or "nothing found"
    assert [findings[0].place] == places, f"{findings[0]} should be at {places}"
    return findings[0]
