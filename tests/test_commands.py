"""The commands as a user calls them: exit codes, names, output, and refusals.

The aircraft is small enough to work its answers out by hand. Each generator feeds its own bus, both
feed the essential bus through a breaker and a diode, the battery feeds the hot bus. A standby relay
connects the battery to the essential bus when that is dead, and, by a fault of its design, opens
again as soon as it has done so: once both sides are dead it chatters. Nothing is listed in the
order of its ids.
"""

from __future__ import annotations

import csv
import errno
import io
import json
import os
import shlex
import socket
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from sitegen import arguments, cli
from sitegen.cli import commands
from sitegen.output import publish as output_publish

FINE, NO, WRONG_USAGE, NOT_READ = 0, 1, 2, 3
DEMO = "No catalogue is named, so this is about the demo, the invented aircraft"

DUNLIN = """\
format: 1
aircraft: {name: Dunlin 2, revision: "1", revised: 2026-02-01, statement: An invented aircraft.}
airframes:
  - {id: early, name: Serials 1 to 5}
  - {id: late, name: Serials 6 and after}
sources:
  - {id: gen-right, name: Right generator, kind: generator, volts: 28.5, amps: 200}
  - {id: gen-left, name: Left generator, kind: generator, volts: 28.5, amps: 200}
  - {id: battery, name: Main battery, kind: battery, volts: 24, amp-hours: 24}
buses:
  - {id: left, name: Left bus}
  - {id: right, name: Right bus}
  - {id: hot, name: Hot bus}
  - {id: essential, name: Essential bus}
devices:
  - {id: k-left, name: Left contactor, kind: contactor, closes-when: {live: [gen-left]}}
  - {id: k-right, name: Right contactor, kind: contactor, closes-when: {live: [gen-right]}}
  - id: k-standby
    name: Standby relay
    kind: relay
    closes-when: {switches: {standby-switch: arm}, dead: [essential]}
  - {id: cb-left, name: ESS L, kind: breaker, amps: 50, panel: pedestal, at: A1}
  - {id: cb-right, name: ESS R, kind: breaker, amps: 50, panel: pedestal, at: A2}
  - {id: d-left, name: Left diode, kind: diode}
  - {id: d-right, name: Right diode, kind: diode}
  - {id: fl-hot, name: Hot bus link, kind: fuse-link, amps: 20}
feeders:
  - {from: gen-left, to: left, through: [k-left]}
  - {from: gen-right, to: right, through: [k-right]}
  - {from: left, to: essential, through: [cb-left, d-left]}
  - {from: right, to: essential, through: [cb-right, d-right]}
  - {from: battery, to: hot, through: [fl-hot]}
  - {from: battery, to: essential, through: [k-standby]}
switches:
  - {id: standby-switch, name: Standby switch, positions: ["off", arm]}
panels:
  - {id: pedestal, name: Pedestal, where: between the seats, rows: [A, B], columns: 8}
equipment:
  - id: com-2
    name: VHF COM 2
    ata: 23-12
    supplies: [{bus: left, breaker: {name: COM, amps: 5, panel: pedestal, at: B2}}]
  - id: com-1
    name: VHF COM 1
    ata: 23-12
    supplies: [{bus: essential, breaker: {name: COM, amps: 5, panel: pedestal, at: B1}}]
  - id: heater
    name: Cabin heater
    ata: 21-40
    supplies: [{bus: right, breaker: {name: HEAT/DEFOG, amps: 20, panel: pedestal, at: B5}}]
  - id: fan
    name: Avionics fan
    ata: 21-27
    supplies:
      - {bus: left, breaker: {name: FAN L, amps: 5, panel: pedestal, at: B3}}
      - {bus: right, breaker: {name: FAN R, amps: 5, panel: pedestal, at: B4}}
  - id: clock
    name: Clock
    ata: 31-21
    supplies: [{bus: hot, breaker: {name: CLOCK, amps: 1, panel: pedestal, at: B6}}]
  - id: lamp
    name: Reading lamp
    ata: 33-20
    fitted-to: [early]
    supplies: [{bus: right, breaker: {name: LAMP, amps: 2, panel: pedestal, at: B7}}]
conditions:
  - id: flight
    name: Flight
    sources: [gen-left, gen-right, battery]
    switches: {standby-switch: arm}
  - {id: parked, name: Parked on battery, sources: [battery], switches: {standby-switch: "off"}}
failures:
  - {id: left-side, name: Left side lost, failed: [gen-left, left], then: {shed: [heater]}}
indications:
  - {id: left-volts, name: Left voltmeter, kind: voltmeter, at: left}
  - {id: left-lamp, name: LEFT GEN lamp, kind: lamp, lit-when: {open: [k-left]}}
functions:
  - {id: talking, name: Talking by radio, provided-by: [com-1, com-2], need: 1}
  - {id: both-radios, name: Listening on two, provided-by: [com-1, com-2], need: 2}
  - {id: air, name: Air, provided-by: [fan, heater, clock], need: 1}
"""


@pytest.fixture(autouse=True)
def in_an_empty_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "work"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture
def dunlin(tmp_path: Path) -> str:
    path = tmp_path / "dunlin.yaml"
    path.write_text(DUNLIN, encoding="utf-8")
    return str(path)


@pytest.fixture
def broken(tmp_path: Path) -> str:
    path = tmp_path / "broken.yaml"
    assert DUNLIN.count("bus: hot") == 1
    path.write_text(DUNLIN.replace("bus: hot", "bus: hott"), encoding="utf-8")
    return str(path)


def run(*arguments: str) -> Result:
    try:
        runner = CliRunner(mix_stderr=False)  # type: ignore[call-arg]
    except TypeError:  # from click 8.2 on they are always separate
        runner = CliRunner()
    return runner.invoke(commands, arguments)


def answered(*arguments: str) -> str:
    """The output of a command that went well; that the demo answers is all it may say besides."""
    result = run(*arguments)
    assert result.exit_code == FINE, result.stderr
    assert result.stderr == "" or (
        result.stderr.startswith(DEMO) and result.stderr.count("\n") == 1
    )
    return result.stdout


def answered_json(*arguments: str) -> Any:
    return json.loads(answered(*arguments, "--json"))


def refused(*arguments: str) -> str:
    """The one message of a command that was called wrongly, and says nothing else."""
    result = run(*arguments)
    assert result.exit_code == WRONG_USAGE, result.output
    assert isinstance(result.exception, SystemExit)
    assert result.stdout == "" or (
        result.stdout.startswith(DEMO) and result.stdout.count("\n") == 1
    )
    assert result.stderr.startswith("sitegen: ")
    assert result.stderr.count("\n") == 1
    return result.stderr.removeprefix("sitegen: ").rstrip()


EVERY_COMMAND = {
    "inspect": (),
    "publish": (),
    "drop": ("left",),
    "trace": ("com-1",),
    "troubleshoot": ("--dead", "com-1"),
    "loads": (),
    "differences": (),
    "quiz": ("--count", "2"),
}
"""Each command, and something to ask it."""


# exit codes


@pytest.mark.parametrize("command", EVERY_COMMAND)
def test_a_sound_catalogue_is_answered_with_0(command: str, dunlin: str) -> None:
    answered(command, dunlin, *EVERY_COMMAND[command])


@pytest.mark.parametrize("command", EVERY_COMMAND)
def test_a_catalogue_with_a_problem_is_answered_with_1_and_the_problem(
    command: str, broken: str, in_an_empty_folder: Path
) -> None:
    result = run(command, broken, *EVERY_COMMAND[command])
    assert result.exit_code == NO
    assert "there is no bus `hott`" in result.output
    assert "Did you mean `hot`?" in result.output
    if command != "inspect":  # whose answer it is
        assert result.stdout == ""
        assert "the catalogue has 1 error; nothing was done." in result.stderr
    assert list(in_an_empty_folder.iterdir()) == []


# the catalogue


@pytest.mark.parametrize("command", EVERY_COMMAND)
@pytest.mark.parametrize("path", ["nowhere/dunlin.yaml", "./dunlin", "dunlin/", "dunlin.yml"])
def test_a_path_to_nothing_is_not_a_question_to_the_demo(command: str, path: str) -> None:
    result = run(command, path, *EVERY_COMMAND[command])
    assert result.exit_code == NOT_READ
    said = str(Path(path)) if command in ("inspect", "publish", "troubleshoot", "quiz") else path
    assert result.stderr == (
        f"sitegen: there is no catalogue {said!r}: name a folder of YAML files, or one file.\n"
    )
    assert result.stdout == ""
    assert isinstance(result.exception, SystemExit)


@pytest.mark.parametrize("command", ["drop", "trace", "loads"])
def test_a_mistyped_path_beside_a_name_is_not_a_question_to_the_demo(command: str) -> None:
    for words in (("com-1.breaker", "my-foldr/"), ("./my-foldr", "com-1.breaker")):
        result = run(command, *words)
        assert result.exit_code == NOT_READ
        assert "there is no catalogue" in result.stderr
        assert "my-foldr" in result.stderr


@pytest.mark.parametrize(
    "words", [("drop", "left", "right"), ("loads", "left"), ("differences", "early", "late")]
)
def test_the_catalogue_is_the_argument_that_exists_wherever_it_is(
    dunlin: str, words: tuple[str, ...]
) -> None:
    command, *names = words
    first = answered_json(command, dunlin, *names)
    for place in range(1, len(names) + 1):
        assert answered_json(command, *names[:place], dunlin, *names[place:]) == first


def test_a_folder_that_is_not_written_like_a_path_is_the_catalogue_too(
    dunlin: str, in_an_empty_folder: Path
) -> None:
    folder = in_an_empty_folder / "left"
    folder.mkdir()
    (folder / "wiring.yaml").write_text(DUNLIN, encoding="utf-8")
    assert answered_json("loads", "left") == answered_json("loads", dunlin)
    assert refused("drop", "left") == "name what fails, for example: sitegen drop forward"
    assert answered_json("drop", "left", "left") == answered_json("drop", dunlin, "left")


@pytest.mark.parametrize(
    "command", ["inspect", "drop", "trace", "loads", "differences", "quiz", "troubleshoot"]
)
def test_the_first_line_says_that_the_demo_answers(command: str, dunlin: str) -> None:
    names = {"drop": ["gen-1"], "trace": ["com-1"], "quiz": ["--count", "2"]}.get(command, [])
    assert answered(command, *names).startswith(DEMO)
    own = {"drop": ["gen-left"]}.get(command, names)
    assert DEMO not in answered(command, dunlin, *own)
    as_json = run(command, *names, "--json")
    assert as_json.stderr.startswith(DEMO)
    assert isinstance(json.loads(as_json.stdout), dict)


@pytest.mark.parametrize("form", ["json", "sarif", "github"])
def test_what_an_editor_reads_has_no_line_about_the_demo(form: str) -> None:
    result = run("inspect", "--format", form)
    assert result.stderr.startswith(DEMO)
    assert DEMO not in result.stdout


@pytest.mark.slow
def test_what_is_written_from_the_demo_is_said_to_be_of_the_demo() -> None:
    assert answered("export", "--to", "list.csv").startswith(DEMO)
    assert answered("inspect", "--unchecked").startswith(DEMO)
    assert answered("publish", "--pocket", "pocket.html").startswith(DEMO)
    with socket.create_server(("localhost", 0)) as taken:
        result = run("preview", "--port", str(taken.getsockname()[1]))
    assert result.stdout.startswith(DEMO)
    assert "cannot be used" in result.stderr


def test_it_says_that_the_demo_answers_before_a_refusal_too() -> None:
    result = run("loads", "my-folder")
    assert result.stdout.startswith(DEMO)
    assert result.stderr.startswith("sitegen: 'my-folder' is not a component")
    name_it = "Name your catalogue, a folder or a file, to ask about another aircraft.\n"
    assert result.stderr.endswith(name_it)


def test_a_name_that_is_not_in_a_named_catalogue_says_nothing_about_the_demo(dunlin: str) -> None:
    assert "Name your catalogue" not in refused("loads", dunlin, "my-folder")


@pytest.mark.parametrize("command", EVERY_COMMAND)
def test_a_folder_without_a_catalogue_is_answered_with_1(command: str, tmp_path: Path) -> None:
    result = run(command, str(tmp_path / "work"), *EVERY_COMMAND[command])
    assert result.exit_code == NO
    assert "holds no catalogue" in result.output


@pytest.mark.parametrize(
    "arguments",
    [("destroy",), *((command, "--colour") for command in EVERY_COMMAND)],
    ids=" ".join,
)
def test_what_no_command_knows_is_answered_with_2(arguments: tuple[str, ...]) -> None:
    result = run(*arguments)
    assert result.exit_code == WRONG_USAGE
    assert "Error: No such" in result.stderr


def test_a_failure_inside_gives_a_sentence_and_no_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fails(path: Path | None) -> None:
        raise RuntimeError("the cat sat on it")

    monkeypatch.delenv(cli.DEBUG, raising=False)
    monkeypatch.setattr(arguments, "read", fails)
    monkeypatch.setattr(sys, "argv", ["sitegen", "drop", "left"])
    with pytest.raises(SystemExit) as end:
        cli.main()
    assert end.value.code == NO
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert "RuntimeError: the cat sat on it" in said.err


# what cannot be written


@pytest.mark.parametrize(
    ("why", "options"),
    [
        (errno.ENOSPC, ("--to", "site")),
        (errno.EDQUOT, ("--to", ".")),
        (errno.EIO, ("--pocket", "site.html")),
    ],
)
def test_a_disk_that_does_not_take_a_site_is_answered_with_3(
    why: int,
    options: tuple[str, str],
    dunlin: str,
    in_an_empty_folder: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refuse(*_: object) -> None:
        raise OSError(why, os.strerror(why))

    monkeypatch.setattr(os, "fsync", refuse)
    monkeypatch.setattr(output_publish, "_flush", refuse)
    result = run("publish", dunlin, *options)
    assert result.exit_code == NOT_READ
    assert result.stdout == ""
    assert result.stderr == f"sitegen: {options[1]} could not be written: {os.strerror(why)}.\n"
    assert list(in_an_empty_folder.iterdir()) == []


def test_a_site_is_published_into_the_current_folder_again_and_again(
    dunlin: str, in_an_empty_folder: Path
) -> None:
    for _ in range(2):
        answered("publish", dunlin, "--to", ".")
        assert "index.html" in os.listdir(".")
    assert os.path.samefile(".", in_an_empty_folder)


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="needs a device that is full")
@pytest.mark.parametrize("option", ["--json", "--csv"])
def test_an_answer_that_cannot_be_printed_is_answered_with_3(dunlin: str, option: str) -> None:
    with open("/dev/full", "w") as full:
        command = [sys.executable, "-m", "sitegen", "loads", dunlin, option]
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == NOT_READ
    assert done.stderr == (
        "sitegen: the output could not be read or written: No space left on device.\n"
    )


# links


@pytest.mark.skipif(sys.platform == "win32", reason="needs links")
@pytest.mark.parametrize("command", EVERY_COMMAND)
def test_every_command_follows_links_out_of_the_catalogue_only_if_asked(
    command: str, dunlin: str, tmp_path: Path
) -> None:
    folder = tmp_path / "catalogue"
    folder.mkdir()
    (folder / "wiring.yaml").symlink_to(dunlin)
    arguments = (command, str(folder), *EVERY_COMMAND[command])
    result = run(*arguments)
    assert result.exit_code == NO
    assert "wiring.yaml:1:1: This is a link out of the catalogue's folder" in result.output
    answered(*arguments, "--follow-links")


# inspect


def test_inspect_counts_what_it_finds(dunlin: str, broken: str) -> None:
    assert answered("inspect", dunlin).splitlines()[-3].startswith("no errors, ")
    assert run("inspect", broken).stdout.splitlines()[-2].startswith("1 error, ")


def test_inspect_json_has_place_code_message_and_hint(dunlin: str, broken: str) -> None:
    assert answered_json("inspect", dunlin)["errors"] == []
    result = run("inspect", broken, "--json")
    assert result.exit_code == NO
    line = DUNLIN[: DUNLIN.index("bus: hot")].count("\n") + 1
    (error,) = json.loads(result.stdout)["errors"]
    assert set(error) == {"file", "line", "column", "end_column", "rule", "message", "hint"}
    assert (error["file"], error["line"]) == ("broken.yaml", line)
    assert error["column"] == DUNLIN.splitlines()[line - 1].index("hot") + 1


def test_a_contactor_that_chatters_with_nothing_failed_is_an_error(tmp_path: Path) -> None:
    armed = DUNLIN.replace('{standby-switch: "off"}', "{standby-switch: arm}")
    assert armed != DUNLIN
    (tmp_path / "armed.yaml").write_text(armed, encoding="utf-8")
    result = run("inspect", str(tmp_path / "armed.yaml"))
    assert result.exit_code == NO
    assert "relay k-standby chatters in parked on early, parked on late" in result.stdout


def test_the_schema_is_one_json_object() -> None:
    assert json.loads(answered("inspect", "--schema"))["type"] == "object"


# publish


def snapshot(folder: Path) -> dict[str, tuple[int, bytes]]:
    return {
        p.relative_to(folder).as_posix(): (
            p.stat().st_mtime_ns,
            p.read_bytes() if p.is_file() else b"",
        )
        for p in sorted(folder.rglob("*"))
    }


def test_publish_says_how_many_files_and_where_to_begin(
    dunlin: str, in_an_empty_folder: Path
) -> None:
    said = answered("publish", dunlin)
    files = [p for p in (in_an_empty_folder / "site").rglob("*") if p.is_file()]
    assert said == f"{len(files) - 1} files in site. Open site/index.html.\n"


def test_publish_refuses_a_folder_that_it_did_not_make_and_changes_nothing_there(
    dunlin: str, in_an_empty_folder: Path
) -> None:
    mine = in_an_empty_folder / "mine"
    (mine / "deep").mkdir(parents=True)
    (mine / "index.html").write_text("my own")
    (mine / "deep" / "thesis.txt").write_text("years of work")
    before = snapshot(in_an_empty_folder)
    said = refused("publish", dunlin, "--to", "mine")
    assert "which publish did not make" in said
    assert "--to" in said
    assert snapshot(in_an_empty_folder) == before


def test_publish_refuses_a_file_and_leaves_it(dunlin: str, in_an_empty_folder: Path) -> None:
    (in_an_empty_folder / "site").write_text("my own")
    assert "is a file, not a folder" in refused("publish", dunlin)
    assert snapshot(in_an_empty_folder)["site"][1] == b"my own"


def test_a_catalogue_with_a_problem_leaves_the_site_that_was(
    dunlin: str, broken: str, in_an_empty_folder: Path
) -> None:
    answered("publish", dunlin)
    before = snapshot(in_an_empty_folder)
    assert run("publish", broken).exit_code == NO
    assert snapshot(in_an_empty_folder) == before


# drop


def test_drop_json_is_one_object_of_this_shape(dunlin: str) -> None:
    """The left bus takes its radio; the fan has a right supply; the clock is on the battery."""
    answer = answered_json("drop", dunlin, "left")
    live = {"live": True, "volts": 28.5}
    assert answer == {
        "airframe": "early",
        "condition": "flight",
        "failed": [{"id": "left", "mode": "dead"}],
        "lost": ["com-2"],
        "reduced": ["fan"],
        "on_battery": ["clock"],
        "not_powered": [],
        "nodes": {
            "gen-left": {**live, "sources": ["gen-left"]},
            "gen-right": {**live, "sources": ["gen-right"]},
            "battery": {"live": True, "volts": 24, "sources": ["battery"]},
            "left": {"live": False, "volts": 0, "sources": []},
            "right": {**live, "sources": ["gen-right"]},
            "hot": {"live": True, "volts": 24, "sources": ["battery"]},
            "essential": {"live": True, "volts": 27.8, "sources": ["gen-right"]},
        },
        "contactors": {"k-left": "closed", "k-right": "closed", "k-standby": "open"},
        "functions": {"talking": "one-left", "both-radios": "lost", "air": "kept"},
        "chatter": [],
        "overloaded": {},
        "over_rating": {},
        **{key: [] for key in ("comes_on", "turned_on", "shed", "not_known")},
        **{key: [] for key in ("stalled", "driven", "conflicts", "because")},
        "opened": {},
        "hazards": {},
    }


def test_drop_json_lists_ids_and_sources_in_order(dunlin: str) -> None:
    """The essential bus has both generators; without the right side everything there is lost."""
    whole = answered_json("drop", dunlin, "fl-hot")
    assert whole["nodes"]["essential"]["sources"] == ["gen-left", "gen-right"]
    assert whole["lost"] == ["clock"]
    right = answered_json("drop", dunlin, "right", "k-left:stuck-closed")
    assert right["lost"] == ["heater", "lamp"]
    assert sorted(right["failed"], key=lambda f: f["id"]) == [
        {"id": "k-left", "mode": "stuck-closed"},
        {"id": "right", "mode": "dead"},
    ]


def test_drop_json_says_what_had_no_power_to_begin_with(dunlin: str) -> None:
    parked = answered_json("drop", dunlin, "fl-hot", "--condition", "parked")
    assert parked["not_powered"] == ["com-1", "com-2", "fan", "heater", "lamp"]
    assert parked["lost"] == ["clock"]
    assert parked["contactors"] == {"k-left": "open", "k-right": "open", "k-standby": "open"}


def test_drop_json_names_the_relay_that_chatters(dunlin: str) -> None:
    both = answered_json("drop", dunlin, "left", "right")
    assert both["chatter"] == ["k-standby"]
    assert both["contactors"]["k-standby"] == "open"
    assert both["lost"] == ["com-1", "com-2", "fan", "heater", "lamp"]


def test_a_mode_comes_after_a_colon(dunlin: str) -> None:
    """A short on the left bus pulls its generator down: no breaker is between them."""
    shorted = answered_json("drop", dunlin, "left:shorted")
    assert shorted["failed"] == [{"id": "left", "mode": "shorted"}]
    assert shorted["nodes"]["gen-left"] == {"live": False, "volts": 0, "sources": []}
    assert answered_json("drop", dunlin, "LEFT  bus:shorted") == shorted
    assert answered_json("drop", dunlin, "left:short") == shorted


@pytest.mark.parametrize("mode", ["stuck-closed", "stuck closed", "Welded"])
def test_a_mode_may_be_in_the_words_of_the_trade(dunlin: str, mode: str) -> None:
    stuck = answered_json("drop", dunlin, f"cb-left:{mode}")
    assert stuck["failed"] == [{"id": "cb-left", "mode": "stuck-closed"}]


@pytest.mark.parametrize(
    ("said", "meant"), [("left generator", "gen-1"), ("Right Gen", "gen-2"), ("bus tie", "k-ring")]
)
def test_a_component_goes_by_what_it_is_also_called(said: str, meant: str) -> None:
    assert answered_json("drop", said)["failed"][0]["id"] == meant


def test_a_meter_goes_by_what_it_is_also_called() -> None:
    seen = answered_json("troubleshoot", "--reads", "left voltmeter=28.5")["seen"]
    assert seen == [{"of": "forward-volts", "seen": "28.5"}]


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("left:open", "'left' does not fail as 'open': its modes are 'dead' or 'shorted'."),
        ("left:", "'left' does not fail as '': its modes are 'dead' or 'shorted'."),
        (
            "cb-left:shorted",
            "'cb-left' does not fail as 'shorted': its modes are 'open' or 'stuck-closed'.",
        ),
        ("left-side:dead", "'left-side' is a named failure and takes no mode."),
    ],
)
def test_a_mode_that_a_thing_cannot_have_is_refused(dunlin: str, name: str, said: str) -> None:
    assert refused("drop", dunlin, name) == said


@pytest.mark.parametrize("names", [("left", "left:shorted"), ("left-side", "Left bus:shorted")])
def test_a_thing_fails_in_one_mode_at_a_time(dunlin: str, names: tuple[str, ...]) -> None:
    assert refused("drop", dunlin, *names) == (
        "'left' cannot be dead and shorted at the same time: give one mode."
    )


def test_a_thing_named_twice_fails_once(dunlin: str) -> None:
    twice = answered_json("drop", dunlin, "left", "Left bus", "left:dead")
    assert twice == answered_json("drop", dunlin, "left")


def test_drop_goes_by_id_name_placard_and_place(dunlin: str) -> None:
    by_id = answered_json("drop", dunlin, "cb-left")
    for name in ("ESS L", "ess  l", "A1", "pedestal A1", "Pedestal A1"):
        assert answered_json("drop", dunlin, name) == by_id


def test_drop_of_a_named_failure_takes_all_that_it_names(dunlin: str) -> None:
    side = answered_json("drop", dunlin, "left-side")
    assert [f["id"] for f in side["failed"]] == ["gen-left", "left"]
    assert answered_json("drop", dunlin, "Left side lost") == side
    after = answered_json("drop", dunlin, "left-side", "--after")
    assert after["shed"] == ["heater"]
    said = answered("drop", dunlin, "left-side", "--after")
    turned_off = said.partition("Turned off by the crew\n")[2].partition("\n\n")[0]
    assert "Cabin heater" in turned_off


def test_drop_says_where_a_text_counts_on_what_is_lost_too(tmp_path: Path) -> None:
    path = tmp_path / "dunlin.yaml"
    text = "    name: VHF COM 1\n"
    counting = text + "    on-loss: Use [COM 2](com-2), by the [lamp](lamp).\n"
    path.write_text(DUNLIN.replace(text, counting))
    effect = "           Use COM 2, by the lamp.\n"
    assert (
        "           Not working either: VHF COM 2 and Reading lamp.\n"
        in (answered("drop", str(path), "left", "right").partition(effect)[2][:80])
    )
    alone = answered("drop", str(path), "essential")
    assert effect in alone
    assert "Not working either" not in alone


def test_after_needs_a_failure_with_actions_of_the_crew(dunlin: str) -> None:
    assert "crew actions" in refused("drop", dunlin, "left", "--after")
    assert "crew actions" in refused("drop", dunlin, "left-side", "right", "--after")


def test_drop_with_nothing_named_says_what_to_name(dunlin: str) -> None:
    assert refused("drop", dunlin) == "name what fails, for example: sitegen drop forward"
    assert refused("drop") == "name what fails, for example: sitegen drop forward"


def test_equipment_does_not_drop_but_what_feeds_it_does(dunlin: str) -> None:
    said = refused("drop", dunlin, "com-1")
    assert "'com-1' is equipment" in said
    assert "com-1.breaker" in said
    assert "sitegen trace com-1" in said


# names


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (
            ("drop", "lefft"),
            "'lefft' is not a component or a named failure here: did you mean 'left'",
        ),
        (("trace", "com-3"), "'com-3' is not equipment here: did you mean 'com-"),
        (("drop", "left", "--condition", "fligth"), "did you mean 'flight'?"),
        (("drop", "left", "--airframe", "eraly"), "did you mean 'early'?"),
        (("troubleshoot", "--dead", "com-3"), "did you mean 'com-"),
        (("troubleshoot", "--reads", "left-vots=28"), "did you mean 'left-volts'?"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_a_name_that_is_nearly_right_gets_a_did_you_mean(
    dunlin: str, arguments: tuple[str, ...], said: str
) -> None:
    command, *rest = arguments
    assert said in refused(command, dunlin, *rest)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("drop", "zzz"), "'zzz' is not a component or a named failure here."),
        (("drop", ":dead"), "'' is not a component or a named failure here."),
        (("trace", "zzz"), "'zzz' is not equipment here."),
        (("trace", "left"), "'left' is not equipment here."),
        (("trace", "com-1", "--airframe", "zzz"), "There are: early, late."),
        (("drop", "left", "--condition", "zzz"), "There are: flight, parked."),
        (("troubleshoot", "--condition", "zzz"), "There are: flight, parked."),
        (("troubleshoot", "--airframe", "zzz"), "There are: early, late."),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_an_unknown_name_is_refused(dunlin: str, arguments: tuple[str, ...], said: str) -> None:
    command, *rest = arguments
    assert said in refused(command, dunlin, *rest)


def test_a_name_of_two_things_asks_for_the_id(dunlin: str) -> None:
    """The catalogue's order is kept."""
    breakers, radios = "'com-2.breaker' or 'com-1.breaker'", "'com-2' or 'com-1'"
    assert refused("drop", dunlin, "COM") == f"'COM' is the name of {breakers}: give the id."
    said = f"is the name of {radios}: give the id."
    assert refused("trace", dunlin, "COM") == f"'COM' {said}"
    assert refused("troubleshoot", dunlin, "--dead", "com") == f"'com' {said}"


def test_an_airframe_goes_by_one_of_its_serial_numbers() -> None:
    # The demo's second block has the serials 25 to 58.
    assert answered_json("drop", "forward", "--airframe", "30")["airframe"] == "block-2"
    assert answered_json("drop", "forward", "--airframe", "59")["airframe"] == "block-3"
    assert "There are: block-1" in refused("drop", "forward", "--airframe", "0")


def test_airframes_and_conditions_go_by_id_or_name(dunlin: str) -> None:
    late = answered_json("drop", dunlin, "right", "--airframe", "serials 6 AND after")
    assert (late["airframe"], late["lost"]) == ("late", ["heater"])
    parked = answered_json("drop", dunlin, "right", "--condition", "Parked on battery")
    assert (parked["condition"], parked["lost"]) == ("parked", [])


def test_what_is_not_fitted_to_the_airframe_is_unknown_there(dunlin: str) -> None:
    assert answered_json("trace", dunlin, "lamp")["equipment"] == "lamp"
    assert "'lamp' is not equipment here" in refused("trace", dunlin, "lamp", "--airframe", "late")


def test_a_placard_may_have_a_stroke_and_a_name_may_be_long(dunlin: str) -> None:
    assert answered_json("drop", dunlin, "HEAT/DEFOG")["lost"] == ["heater"]
    assert answered_json("trace", dunlin, "heat/defog")["equipment"] == "heater"
    assert refused("drop", dunlin, "NAV/COM").startswith("'NAV/COM' is not a component")
    assert "is not a component" in refused("drop", "x" * 5000)


# trace


def test_trace_wants_one_piece_of_equipment(dunlin: str) -> None:
    said = "name one piece of equipment or function, for example: sitegen trace com-1"
    assert refused("trace", dunlin) == said
    assert refused("trace", dunlin, "com-1", "com-2") == said
    assert refused("trace") == said


def test_trace_goes_by_id_name_placard_and_place(dunlin: str) -> None:
    by_id = answered_json("trace", dunlin, "heater")
    assert by_id["supplies"][0]["breaker"]["at"] == "B5"
    for name in ("cabin HEATER", "heater.breaker", "B5", "pedestal B5", "Pedestal  b5"):
        assert answered_json("trace", dunlin, name) == by_id


def test_trace_says_in_which_conditions_an_item_works_and_on_what(dunlin: str) -> None:
    radio, clock = (answered_json("trace", dunlin, item) for item in ("com-1", "clock"))
    assert radio["works"] == {"flight": True, "parked": False}
    assert radio["on_battery"] == {"flight": False, "parked": False}
    assert radio["supplies"][0]["live"] == radio["works"]
    assert clock["works"] == clock["on_battery"] == {"flight": True, "parked": True}


def test_trace_lists_devices_from_the_source_though_the_feeder_is_written_the_other_way(
    tmp_path: Path,
) -> None:
    path = tmp_path / "tie.yaml"
    feeder = "  - {from: left, to: essential, through: [cb-left, d-left]}\n"
    assert DUNLIN.count(feeder) == 1
    tie = "  - {from: essential, to: left, through: [k-left, cb-left, fl-hot]}\n"
    path.write_text(
        DUNLIN.replace(feeder, tie)
        .replace("to: hot, through: [fl-hot]", "to: hot")
        .replace("to: left, through: [k-left]}\n  - {from: gen-r", "to: left}\n  - {from: gen-r"),
        encoding="utf-8",
    )
    [supply] = answered_json("trace", str(path), "com-1")["supplies"]
    [left] = [p for p in supply["paths"] if p["source"] == "gen-left"]
    assert left["devices"] == ["fl-hot", "cb-left", "k-left"]


# troubleshoot


def test_what_one_failure_explains_is_answered_with_0(dunlin: str) -> None:
    found = answered_json("troubleshoot", dunlin, "--dead", "com-2", "--works", "left")
    assert [c["failed"] for c in found["candidates"] if len(c["failed"]) == 1] == [
        [{"id": "com-2.breaker", "mode": "open"}]
    ]


def test_what_nothing_explains_is_answered_with_1(dunlin: str) -> None:
    """No failure makes 90 V of 28.5."""
    result = run("troubleshoot", dunlin, "--reads", "left-volts=90")
    assert result.exit_code == NO
    without = "without shorted diodes, stuck breakers and stuck switches"
    tried = f"failures alone, and up to three at a time {without}"
    assert f"\nNothing that was tried explains all of it: {tried}.\n" in result.stdout
    assert result.stderr == ""
    as_json = run("troubleshoot", dunlin, "--reads", "left-volts=90", "--json")
    assert (as_json.exit_code, json.loads(as_json.stdout)["candidates"]) == (NO, [])


def test_without_observations_the_answer_is_what_every_failure_shows(dunlin: str) -> None:
    table = answered_json("troubleshoot", dunlin)
    assert table["normal"] == {"left-volts": "28.5 V", "left-lamp": "unlit"}
    assert {"id": "fl-hot", "mode": "open"} in table["unseen"]


@pytest.mark.parametrize(
    ("observations", "said"),
    [
        ("--dead nothing", "'nothing' is not equipment here"),
        ("--works left-volts", "'left-volts' is not equipment here"),
        ("--dead com-1 --works com-1", "'com-1' cannot be"),
        ("--dead left --works 'Left bus'", "'left' cannot be"),
        ("--lit left-lamp --unlit left-lamp", "'left-lamp' cannot be"),
        ("--reads left-volts=28 --reads left-volts=0", "'left-volts' cannot be"),
        ("--reads com-1=28", "'com-1' is not a meter here"),
        ("--reads left=28", "'left' is not a meter here"),
        ("--reads left-lamp=1", "'left-lamp' is not a meter here"),
        ("--lit left-volts", "'left-volts' is not a lamp or flag here"),
        ("--unlit com-1", "'com-1' is not a lamp or flag here"),
        ("--reads left-volts=high", "a meter reads a number, or blank"),
        ("--reads left-volts=28,5", "a meter reads a number, or blank"),
        ("--reads left-volts=nan", "a meter reads a number, or blank"),
        ("--reads left-volts=-inf", "a meter reads a number, or blank"),
        ("--reads left-volts", "write METER=FIGURE"),
        ("--reads left-volts=", "write METER=FIGURE"),
        ("--reads =28", "'' is not a meter here"),
        ("--dead com-1 --tolerance -1", "--tolerance is in volts, from 0 to below 1000."),
        ("--dead com-1 --tolerance nan", "--tolerance is in volts, from 0 to below 1000."),
        ("--dead com-1 --tolerance 1000", "--tolerance is in volts, from 0 to below 1000."),
    ],
)
def test_what_cannot_have_been_seen_is_refused_in_one_message(
    dunlin: str, observations: str, said: str
) -> None:
    assert said in refused("troubleshoot", dunlin, *shlex.split(observations))


def test_with_a_wide_tolerance_a_dead_bus_explains_any_voltmeter(dunlin: str) -> None:
    told = ("troubleshoot", dunlin, "--reads", "left-volts=28")
    dead = {"failed": [{"id": "left", "mode": "dead"}]}
    assert dead not in _failed(answered_json(*told))
    assert dead in _failed(answered_json(*told, "--tolerance", "999"))


def _failed(diagnosis: dict[str, Any]) -> list[dict[str, Any]]:
    return [{"failed": candidate["failed"]} for candidate in diagnosis["candidates"]]


def test_a_tolerance_that_is_no_number_is_refused(dunlin: str) -> None:
    result = run("troubleshoot", dunlin, "--tolerance", "some")
    assert result.exit_code == WRONG_USAGE
    assert "'some' is not a valid float" in result.stderr


@pytest.mark.parametrize(
    ("figure", "number"),
    [("0", "0"), ("0.0", "0"), (".5", "0.5"), ("+0.5", "0.5"), ("-0.5", "-0.5"), ("5e-1", "0.5")],
)
def test_a_reading_is_reported_back_as_a_number(dunlin: str, figure: str, number: str) -> None:
    said = answered("troubleshoot", dunlin, f"--reads=left-volts={figure}")
    assert f"Seen: Left voltmeter reads {number}\n" in said


def test_an_observation_given_twice_counts_once(dunlin: str) -> None:
    once = answered_json("troubleshoot", dunlin, "--dead", "com-2")
    assert answered_json("troubleshoot", dunlin, "--dead", "com-2", "--dead", "VHF COM 2") == once


# loads


def test_loads_has_the_amps_of_each_source_and_the_worst_failure_for_it() -> None:
    said = answered("loads")
    assert "Generator 1: 196.1 A of 350 A, 56 %" in said
    assert "at worst 260.8 A, 75 %: Start contactor 1 stuck closed" in said
    assert "not measured" in said


def test_loads_of_a_failure_has_the_minutes_of_the_batteries_and_one_json_object() -> None:
    said = answered("loads", "both-generators", "--after")
    assert "Main battery: 32 min" in said
    found = answered_json("loads", "both-generators")
    assert found["failed"] == [{"id": "gen-1", "mode": "lost"}, {"id": "gen-2", "mode": "lost"}]
    assert set(found) == {
        *("airframe", "condition", "failed", "sources", "buses", "converters", "devices"),
        *("equipment", "not_known", "at_least", "batteries", "voltage_drops", "sags"),
        *("dip", "overload", "unchecked"),
    }
    sources = {s for s in found["sources"] if s.startswith(("gen", "battery"))}
    drawn = sum(found["buses"].values())
    supplied = sum(found["sources"][s]["amps"] for s in found["sources"])
    assert sources == {"battery"}
    # Each figure is rounded to a thousandth by itself.
    rounding = 0.0005 * (len(found["buses"]) + len(found["sources"]))
    assert supplied == pytest.approx(drawn, abs=rounding)


def test_loads_as_a_table_for_a_spreadsheet() -> None:
    rows = list(csv.reader(io.StringIO(answered("loads", "--csv"))))
    assert rows[0][:6] == ["condition", "failed", "kind", "id", "name", "amps"]
    assert rows[0][-4:] == ["bound", "bound of the volts", "bound of the worst amps", "assumed"]
    assert {len(row) for row in rows} == {17}
    # A converter's input: its output's watts over its efficiency and the volts it is fed with.
    of_converter = {row[3]: row for row in rows if row[2] == "converter"}["inverter-1"]
    assert float(of_converter[7]) == pytest.approx(
        float(of_converter[5]) * 115 / (0.8 * 27.8), abs=0.01
    )
    assert {row[1] for row in rows[1:]} == {""}
    amps = {row[3]: row[5] for row in rows if row[2] == "generator"}
    assert float(amps["gen-1"]) == pytest.approx(196.1, abs=0.1)


def test_two_answers_asked_for_at_once_are_a_wrong_call(dunlin: str) -> None:
    assert run("drop", dunlin, "left", "--dip", "--overload").exit_code == 2
