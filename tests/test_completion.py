"""What a shell offers for the arguments of a command."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.shell_completion import BashComplete

from sitegen.catalogue.protector_ids import own_protectors
from sitegen.catalogue.read import read
from sitegen.cli import commands
from sitegen.resources import demo_catalogue
from tests.catalogue.catalogue_sample import SAMPLE


@pytest.fixture(autouse=True)
def heron(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "heron.yaml").write_text(SAMPLE, encoding="utf-8")
    return tmp_path / "heron.yaml"


def offered(line: str) -> list[str]:
    """What is offered for the last word of a command line, as bash cuts it into words."""
    *words, begun = line.split(" ")
    items = BashComplete(commands, {}, "sitegen", "").get_completions(words, begun)
    assert all(item.type == "plain" for item in items)
    return [item.value for item in items]


@pytest.mark.parametrize(
    ("line", "ids"),
    [
        ("drop heron.yaml fl", {"fl-ess"}),
        ("drop heron.yaml gen", {"gen", "gen-out"}),
        ("drop heron.yaml gen --condition ", {"cruise"}),
        ("drop --airframe ", {"block-1", "block-2", "block-3"}),
        ("drop heron.yaml --airframe ", {"early", "late"}),
        ("drop --condition cruise heron.yaml --airframe l", {"late"}),
        ("loads heron.yaml att", {"att-1.breaker", "att-2.breaker"}),
        ("trace heron.yaml att", {"att-1", "att-2", "attitude"}),
        ("troubleshoot heron.yaml --dead a", {"att-1", "att-2", "ac"}),
        ("troubleshoot heron.yaml --works s", {"strobe-left", "strobe-right"}),
        ("troubleshoot heron.yaml --reads ", {"volts"}),
        ("troubleshoot heron.yaml --lit ", {"gen-off"}),
        ("troubleshoot heron.yaml --unlit g", {"gen-off"}),
        ("differences heron.yaml ", {"early", "late"}),
        ("quiz heron.yaml --airframe e", {"early"}),
        ("import heron.yaml list.csv --column bu", {"bus="}),
        ("start new --from list.csv --column am", {"amps=", "amps-drawn="}),
        ("publish heron.yaml --pocket x.html --airframe e", {"early"}),
        # To bash a colon is a word of its own, to other shells it is not.
        ("drop heron.yaml bat:", {"bat:lost", "bat:shorted"}),
        ("drop heron.yaml bat:s", {"bat:shorted"}),
        ("drop heron.yaml bat :", {"lost", "shorted"}),
        ("drop heron.yaml bat : s", {"shorted"}),
        ("drop heron.yaml main : ", {"dead", "shorted"}),
        ("drop heron.yaml att-1.breaker : ", {"open", "stuck-closed"}),
        ("drop heron.yaml bat : shorted k-", {"k-gen", "k-bat"}),
    ],
)
def test_ids_of_the_named_catalogue_are_offered(line: str, ids: set[str]) -> None:
    assert set(offered(line)) == ids


def test_every_component_and_named_failure_of_the_demo_is_offered_once() -> None:
    catalogue = read(demo_catalogue()).catalogue
    assert catalogue is not None
    records = (*catalogue.failures, *catalogue.buses, *catalogue.sources, *catalogue.devices)
    ids = {record.id for record in records} | {id_ for *_, id_ in own_protectors(catalogue)}
    answer = offered(f"drop {demo_catalogue()} ")
    assert set(answer) == ids
    assert len(answer) == len(ids)


def test_before_a_catalogue_is_named_those_of_this_folder_are_offered_too(heron: Path) -> None:
    (heron.parent / "forest").mkdir()
    (heron.parent / "forked").mkdir()
    (heron.parent / "forked" / "wiring.yml").write_text(SAMPLE, encoding="utf-8")
    assert set(offered("drop for")) == {"forward", "forward-short", "forked"}
    assert offered("drop her") == ["heron.yaml"]
    assert offered("drop heron.yaml for") == []
    assert offered("drop heron.yaml her") == []


def test_a_path_is_completed_by_the_shell() -> None:
    for words, begun in ((["drop"], "../her"), (["inspect"], "her"), (["changes", "a"], "her")):
        items = BashComplete(commands, {}, "sitegen", "").get_completions(words, begun)
        assert [(item.type, item.value) for item in items] == [("file", begun)]


def test_for_a_mistyped_catalogue_no_id_of_the_demo_is_offered() -> None:
    assert offered("drop my-aircraft.yaml for") == []
    assert offered("troubleshoot my-aircraft.yaml --dead co") == []


@pytest.mark.parametrize(
    "broken",
    ["buses: [", "buses: {id: a}", "- 1", "", "buses: [1, {id: 2}, {name: x}]", "a: \x00", "x: 0x"],
)
def test_a_broken_file_beside_a_sound_one_is_passed_over(tmp_path: Path, broken: str) -> None:
    folder = tmp_path / "aircraft"
    folder.mkdir()
    (folder / "broken.yaml").write_text(broken, encoding="utf-8")
    (folder / "sound.yaml").write_text(
        "buses: [{id: main}, {id: mid}]\n"
        "equipment: [{id: com}, {supplies: [x]}, {id: a, supplies: 3}]",
        encoding="utf-8",
    )
    assert offered("drop aircraft m") == ["main", "mid"]


def test_a_catalogue_with_errors_completes() -> None:
    Path("heron.yaml").write_text(SAMPLE.replace("bus: essential", "bus: esential"), "utf-8")
    assert offered("drop heron.yaml ess") == ["essential"]
