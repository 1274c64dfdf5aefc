"""`loads --dip` and `--overload`: the amps of each of the answers to a failure."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
import yaml
from click.testing import CliRunner, Result

from sitegen.cli import commands
from tests.answers.test_endurance_remarks import UNTIL_IT_OPENS
from tests.answers.test_loads_of_a_short import DROPS, RIDES, UNSAID
from tests.nets import expand


def asked(net: str, folder: Path, *arguments: str) -> Result:
    """What `loads` does with a net."""
    file = folder / "net.yaml"
    file.write_text(yaml.safe_dump(expand(net)), encoding="utf-8")
    return CliRunner().invoke(commands, ["loads", str(file), *arguments])


def given(net: str, folder: Path, *arguments: str) -> tuple[str, dict[str, float], str]:
    """What the text and the CSV say is assumed, which is the same, what each source gives, and the
    text.
    """
    text = asked(net, folder, *arguments).output
    found = json.loads(asked(net, folder, *arguments, "--json").output)
    rows = list(csv.DictReader(io.StringIO(asked(net, folder, *arguments, "--csv").output)))
    [assumed] = {row["assumed"] for row in rows}
    assert ("what is overloaded opens" in assumed) is found["overload"]
    assert ("drop out" in assumed) is found["dip"]
    if assumed:
        assert f"Assumed: {assumed.partition(';')[0]}" in text
    return assumed, {s: of["amps"] for s, of in found["sources"].items()}, text


DROPPING, RIDING = (
    f"contactors {do} unless the catalogue says otherwise"
    for do in ("drop out while the short lasts", "ride through the short")
)


@pytest.mark.parametrize(
    ("net", "option", "assumed", "gen", "bat"),
    [
        (DROPS, "", RIDING, 0, 25),
        (UNSAID, "", RIDING, 25, 0),
        (UNSAID, "--dip", DROPPING, 0, 25),
        (RIDES, "--dip", DROPPING, 25, 0),
    ],
)
def test_the_amps_of_a_short_are_those_of_the_answer_that_is_asked_for(
    net: str, option: str, assumed: str, gen: float, bat: float, tmp_path: Path
) -> None:
    """The generator's contactor drops out, and the battery has the 25 A, or does not."""
    found = given(net, tmp_path, "spur:shorted", *option.split())
    assert found[:2] == (assumed, {"gen": gen, "bat": bat})
    # 20 Ah, three quarters usable, at 25 A: 36 minutes.
    assert ("bat: 36 min" in found[2]) is bool(bat)


def test_the_amps_if_what_is_overloaded_opens(tmp_path: Path) -> None:
    """The battery gives the heater 30 A through a breaker of 20 A, for 900 A-min of its 20 Ah; with
    that open a relay gives the lamp 6 A.
    """
    net = UNTIL_IT_OPENS % ("", 6)
    assumed, amps, text = given(net, tmp_path, "gen")
    assert (assumed, amps) == ("", {"bat": 30})
    assert "bat: 30 min" in text
    assumed, amps, text = given(net, tmp_path, "gen", "--overload")
    assert (assumed, amps) == ("what is overloaded opens", {"bat": 6})
    assert "bat: 150 min" in text
    assert "if it opens" not in text


def test_they_are_answers_to_a_failure(tmp_path: Path) -> None:
    for option in ("--dip", "--overload"):
        refused = asked(DROPS, tmp_path, option)
        assert refused.exit_code == 2
        assert "are answers to a failure: name it" in refused.output
    both = asked(DROPS, tmp_path, "spur:shorted", "--dip", "--overload")
    assert both.exit_code == 2
    assert "--dip and --overload are two answers: ask for one of them." in both.output
