"""The README's catalogue and the questions on it and on the pages do what they say."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from sitegen.cli import commands

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
QUESTIONS = {
    line.strip(): None
    for page in ("README.md", "docs/answers.md")
    for line in re.findall(
        r"^sitegen ((?:drop|trace|troubleshoot|loads|differences) [^#\n]+)",
        (ROOT / page).read_text(encoding="utf-8"),
        re.MULTILINE,
    )
}


def test_the_catalogue_in_the_readme_is_sound_and_can_be_asked_and_published(
    tmp_path: Path,
) -> None:
    found = re.search(r"complete one:\n\n```yaml\n(.*?)```", README, re.DOTALL)
    assert found
    heron = tmp_path / "heron.yaml"
    heron.write_text(found[1], encoding="utf-8")
    run = CliRunner().invoke
    first, judged, read = run(commands, ["inspect", str(heron)]).output.splitlines()
    assert first == "no errors, no pieces of advice."
    assert judged.startswith("Protection: judged by load, 6 of 6 breakers, fuses and links; ")
    assert read == "Read: 1 file, 24 records, 1 airframe."
    dropped = run(commands, ["drop", str(heron), "main"])
    assert "You lose 2 of 3 working items." in dropped.output
    assert run(commands, ["publish", str(heron), "--to", str(tmp_path / "site")]).exit_code == 0


@pytest.mark.parametrize("line", QUESTIONS)
def test_every_question_in_the_readme_and_the_answers_page_is_answered(line: str) -> None:
    result = CliRunner().invoke(commands, line.split())
    assert result.exit_code == 0, result.output
    assert "approved manuals" in result.output


@pytest.mark.slow
def test_the_quizzes_of_the_page_are_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    page = (ROOT / "docs" / "teaching.md").read_text(encoding="utf-8")
    quizzes = re.findall(r"^sitegen (quiz .*)$", page, re.MULTILINE)
    assert quizzes
    for line in quizzes:
        result = CliRunner().invoke(commands, line.split())
        assert result.exit_code == 0, result.output
        assert all((tmp_path / name).is_file() for name in re.findall(r"\S+\.html", line))
