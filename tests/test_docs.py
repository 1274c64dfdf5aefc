"""The README and the pages of `docs/`: links lead somewhere, and what they show is so."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import jsonschema
import pytest
import yaml
from click.testing import CliRunner

from sitegen.catalogue.json_schema import json_schema
from sitegen.catalogue.kinds import KINDS
from sitegen.cli import commands

ROOT = Path(__file__).parent.parent
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]


def without_code(text: str) -> str:
    """A page without its blocks of code."""
    return re.sub(r"^```.*?^```", "", text, flags=re.DOTALL | re.MULTILINE)


def anchors(page: Path) -> set[str]:
    """The anchors that a forge makes of a page's headings."""
    headings = re.findall(r"^#+ (.*)$", without_code(page.read_text("utf-8")), re.MULTILINE)
    return {re.sub(r"[^\w -]", "", heading.lower()).replace(" ", "-") for heading in headings}


def links(page: Path) -> Iterator[str]:
    """Where the links of a page lead, except those in code."""
    prose = re.sub(r"`[^`\n]*`", "", without_code(page.read_text("utf-8")))
    yield from re.findall(r"\]\(([^)\s]+)\)", prose)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_link_of_a_page_leads_to_a_page_and_a_heading(page: Path) -> None:
    lost = []
    for link in links(page):
        path, _, anchor = link.partition("#")
        target = (page.parent / path).resolve() if path else page
        if not target.is_file() or (anchor and anchor not in anchors(target)):
            lost.append(link)
    assert lost == []


def test_the_readme_leads_to_every_page() -> None:
    reached = {link.partition("#")[0] for link in links(ROOT / "README.md")}
    assert {f"docs/{page.name}" for page in PAGES if page.parent == ROOT / "docs"} <= reached


def test_the_readme_stays_short() -> None:
    assert (ROOT / "README.md").read_text("utf-8").count("\n") <= 150


def test_the_format_page_is_as_the_program_prints_it() -> None:
    printed = CliRunner().invoke(commands, ["inspect", "--fields"]).output
    assert (ROOT / "docs" / "format.md").read_text("utf-8").endswith("\n\n" + printed)


def test_the_failure_modes_of_each_component_are_those_of_the_page() -> None:
    page = (ROOT / "docs" / "catalogue.md").read_text("utf-8")
    section = page.partition("## How components fail\n")[2].partition("\n## ")[0]
    listed: dict[str, list[str]] = {}
    components: list[str] = []
    for names, mode in re.findall(r"^\| ([^|]*)\| `([a-z-]+)` \|", section, re.MULTILINE):
        components = names.strip().split(", ") if names.strip() else components
        for component in components:
            listed.setdefault(component, []).append(mode)
    modes = {
        "source" if kind.role == "source" else kind.noun.lower(): list(kind.modes)
        for kind in KINDS.values()
        if kind.modes
    }
    assert listed == modes


@pytest.mark.parametrize("name", ["README.md", "docs/catalogue.md", "docs/teaching.md"])
def test_what_a_page_shows_of_a_catalogue_is_in_the_format(name: str) -> None:
    schema = jsonschema.Draft202012Validator(json_schema())
    shown = [
        text
        for _, language, text in blocks((ROOT / name).read_text("utf-8"))
        if language == "yaml" and not text.startswith("#")
    ]
    assert shown
    for text in shown:
        # A date is text to the schema; records are shown in part.
        catalogue = yaml.load(text, yaml.BaseLoader) if ": {by:" in text else yaml.safe_load(text)
        catalogue.pop("aircraft", None)
        errors = [e for e in schema.iter_errors(catalogue) if e.validator != "required"]
        assert errors == []


# what the pages have their reader do


Block = tuple[str, str, str]
"""The paragraph before a block of code, its language, its text."""


def blocks(page: str) -> list[Block]:
    """The blocks of code of a page or of one of its sections, in order."""
    fences = re.finditer(r"([^\n]*(?:\n[^\n]+)*)\n\n```(\w+)\n(.*?)```", page, re.DOTALL)
    return [(match[1].strip(), match[2], match[3]) for match in fences]


def commands_in(block: str) -> list[str]:
    """The commands of a block, without comments."""
    lines = [line.partition(" #")[0].strip() for line in block.splitlines()]
    return [line for line in lines if line]


def run_command(line: str) -> str:
    """What a command of a page prints; it must succeed."""
    program, *arguments = shlex.split(line)
    if program == "cp":
        shutil.copytree(*arguments[1:])
        return ""
    assert program == "sitegen"
    result = CliRunner().invoke(commands, arguments)
    assert result.exit_code == 0, f"{line}\n{result.output}"
    return result.output


def assert_shows(output: str, expected: str) -> None:
    """The lines that a page shows are in the output, in the same order."""
    lines = iter(output.splitlines())
    for wanted in expected.splitlines():
        assert any(wanted in line for line in lines), (
            f"{wanted!r} is not there, or not in this order:\n{output}"
        )


PATTERNS = (ROOT / "docs" / "patterns.md").read_text("utf-8")
BASE, *EACH_PATTERN = re.split(r"^## ", PATTERNS, flags=re.MULTILINE)


@pytest.mark.parametrize("pattern", EACH_PATTERN, ids=lambda text: text.partition("\n")[0])
def test_a_pattern_gives_the_answer_that_the_page_shows(
    pattern: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    ((_, _, base),) = blocks(BASE)
    folder = tmp_path / "my-aircraft"
    folder.mkdir()
    (folder / "base.yaml").write_text(base, encoding="utf-8")
    languages = [language for _, language, _ in blocks(pattern)]
    assert languages == ["yaml", "sh", "text"]
    fragment, questions, answers = (text for *_, text in blocks(pattern))
    (folder / "pattern.yaml").write_text(fragment, encoding="utf-8")
    assert "no errors, no pieces of advice" in run_command("sitegen inspect my-aircraft")
    assert_shows("".join(map(run_command, commands_in(questions))), answers)


@pytest.mark.slow
def test_the_tutorial_works_as_it_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    shown = ""
    used = set()
    for before, language, text in blocks((ROOT / "docs" / "tutorial.md").read_text("utf-8")):
        if language == "sh":
            lines = commands_in(text)
            used |= {line.split()[1] for line in lines}
            previewed = [line for line in lines if "preview" in line]
            shown = "".join(run_command(line) for line in lines if line not in previewed)
            for line in previewed:
                assert_previews(shlex.split(line)[1:])
        elif language == "text":
            assert_shows(shown, text)
        elif saved := re.fullmatch(r"Save this as `(.*)`:", before):
            Path(saved[1]).write_text(text, encoding="utf-8")
        else:
            changed = re.search(r"In `(.*)`, the line becomes:", before)
            assert changed, f"nothing says what to do with this:\n{text}"
            replace_line(Path(changed[1]), text)
    commands_used = {"start", "inspect", "drop", "loads", "trace", "preview", "publish"}
    assert commands_used | {"import", "changes"} <= used
    page = (tmp_path / "my-site" / "all" / "bus-main-bus.html").read_text("utf-8")
    assert "USB outlet" in page


def replace_line(path: Path, line: str) -> None:
    """Replace the line of a file that begins like this one, up to its first comma or colon."""
    begin = line.partition(",")[0] if "{" in line else line.partition(":")[0] + ":"
    old = path.read_text("utf-8").splitlines(keepends=True)
    assert sum(each.startswith(begin) for each in old) == 1
    path.write_text("".join(line if each.startswith(begin) else each for each in old), "utf-8")


def assert_previews(arguments: list[str]) -> None:
    """`preview` serves the front page at the address that it prints."""
    process = subprocess.Popen(
        [sys.executable, "-m", "sitegen", *arguments, "--port", "0"],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"},
    )
    try:
        assert process.stdout is not None
        address = process.stdout.readline().split(" shows ")[0]
        with urllib.request.urlopen(address, timeout=60) as answer:
            assert b"Heron 4" in answer.read()
    finally:
        process.terminate()
        process.wait()
        process.stdout.close()
