"""`changes` at the terminal: folders, git revisions, exit codes, JSON."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest
import yaml

from tests.nets import expand
from tests.test_commands import run

NET = """
sources: {gen: 28, bat: {kind: battery, volts: 24}}
buses: [main, essential]
devices: {cb: {kind: breaker, amps: 20}}
feeders: [gen > main, main > cb > essential, bat > essential]
equipment: {radio: main, horizon: essential}
"""


def write(folder: Path, text: str = NET) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "wiring.yaml").write_text(yaml.safe_dump(expand(text)), encoding="utf-8")
    return folder


REWIRED = NET.replace("radio: main", "radio: essential")


def git(folder: Path, *arguments: str) -> None:
    owner = ("-c", "user.name=A", "-c", "user.email=a@b.c", "-c", "commit.gpgsign=false")
    subprocess.run(["git", "-C", folder, *owner, *arguments], check=True, capture_output=True)


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    """A catalogue in a folder of a git repository, committed twice, and changed since."""
    folder = write(tmp_path / "repository" / "planes" / "one")
    (folder / "notes").mkdir()
    (folder / "notes" / "first.md").write_text("# First\n", encoding="utf-8")
    top = tmp_path / "repository"
    git(tmp_path, "init", "-q", str(top))
    for text, tag in ((NET, "first"), (REWIRED, "second")):
        write(folder, text)
        git(top, "add", ".")
        git(top, "commit", "-qm", tag)
        git(top, "tag", tag)
    write(folder, REWIRED.replace("amps: 20", "amps: 25"))
    return folder


def test_two_folders_differ_by_record_and_by_what_follows(tmp_path: Path) -> None:
    old, new = write(tmp_path / "old"), write(tmp_path / "new", REWIRED)
    result = run("changes", str(old), str(new))
    assert result.exit_code == 0
    assert (
        "1 rewired; failures, condition by condition: 3 take more and 3 take less." in result.output
    )
    assert "  radio\n    bus: main -> essential\n" in result.output
    assert "  Newly lost: radio\n    bat shorted\n    essential dead or shorted\n" in result.output
    assert "approved manuals" in result.output
    found = json.loads(run("changes", str(old), str(new), "--json").stdout)
    assert [r["id"] for r in found["records"]] == ["radio"]


def test_a_folder_and_its_copy_in_other_files_differ_in_nothing(tmp_path: Path) -> None:
    old, new = write(tmp_path / "old"), tmp_path / "new"
    new.mkdir()
    for number, (section, records) in enumerate(sorted(expand(NET).items(), reverse=True)):
        text = yaml.safe_dump({section: records}, default_flow_style=number % 2 == 0)
        (new / f"{number:02}.yaml").write_text(f"# Written anew\n{text}", encoding="utf-8")
    result = run("changes", str(old), str(new))
    assert result.exit_code == 0
    assert "Nothing has changed." in result.output


def test_git_revisions_and_the_folder_as_it_is_now(repository: Path) -> None:
    both = json.loads(run("changes", "first", "second", "--at", str(repository), "--json").stdout)
    assert [f["field"] for r in both["records"] for f in r["fields"]] == ["bus"]
    since = json.loads(run("changes", "second", "--at", str(repository), "--json").stdout)
    assert [(r["section"], r["id"]) for r in since["records"]] == [("devices", "cb")]
    one_file = str(repository / "wiring.yaml")
    assert json.loads(run("changes", "second", "--at", one_file, "--json").stdout) == since


def test_a_note_of_a_revision_is_read_with_it(repository: Path) -> None:
    (repository / "notes" / "first.md").unlink()
    found = json.loads(run("changes", "second", "--at", str(repository), "--json").stdout)
    assert ("notes", "removed") in [(r["section"], r["change"]) for r in found["records"]]


def refused(*words: str, code: int = 3) -> str:
    result = run("changes", *words)
    assert result.exit_code == code
    assert result.stdout == ""
    return result.stderr


def test_each_wrong_call_gets_one_message(repository: Path, tmp_path: Path) -> None:
    plain = write(tmp_path / "plain")
    at = ("--at", str(repository))
    assert "git has no revision `third`" in refused("third", *at)
    assert "git has no revision `--all`" in refused(*at, "--", "--all")
    assert "is in no git repository" in refused("first", "--at", str(plain))
    assert "there is no catalogue" in refused("first", "--at", str(tmp_path / "nowhere"))
    assert "If it is a git revision, add --at" in refused("first", str(plain))
    assert "name the older catalogue and the newer one" in refused(str(plain), code=2)
    assert "name one git revision, or" in refused(*at, code=2)
    (repository.parent / "two").mkdir()
    write(repository.parent / "two")
    assert "in revision `first` there is no catalogue" in refused(
        "first", "--at", str(repository.parent / "two")
    )


def test_without_git_the_message_says_so(
    repository: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    assert "git is not installed" in refused("first", "--at", str(repository))


def test_errors_are_reported_with_the_catalogue_that_has_them(tmp_path: Path) -> None:
    old = write(tmp_path / "old", NET.replace("radio: main", "radio: mani"))
    new = write(tmp_path / "new")
    told = refused(str(old), str(new), code=1)
    assert f"{old}: wiring.yaml" in told
    assert f"{old} has 1 error; nothing was done." in told


def test_a_git_variable_of_the_shell_does_not_lead_to_another_repository(
    repository: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("GIT_DIR", str(tmp_path / "elsewhere"))
    assert run("changes", "first", "--at", str(repository)).exit_code == 0
