"""The README's catalogue and its commands do what the README says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from sitegen.cli import commands

README = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")


def test_the_catalogue_in_the_readme_is_sound_and_can_be_asked_and_published(
    tmp_path: Path,
) -> None:
    found = re.search(r"complete one:\n\n```yaml\n(.*?)```", README, re.DOTALL)
    assert found
    heron = tmp_path / "heron.yaml"
    heron.write_text(found[1], encoding="utf-8")
    run = CliRunner().invoke
    assert run(commands, ["inspect", str(heron)]).output == (
        "no errors, no pieces of advice.\nRead: 1 file, 24 records, 1 airframe.\n"
    )
    dropped = run(commands, ["drop", str(heron), "main"])
    assert "You lose 2 of 3 working items." in dropped.output
    assert run(commands, ["publish", str(heron), "--to", str(tmp_path / "site")]).exit_code == 0


@pytest.mark.parametrize(
    "line",
    list(re.findall(r"^sitegen ((?:drop|trace|troubleshoot) [^#\n]+)", README, re.MULTILINE)),
)
def test_every_question_in_the_readme_is_answered(line: str) -> None:
    result = CliRunner().invoke(commands, line.split())
    assert result.exit_code == 0, result.output
    assert "approved manuals" in result.output
