"""Two revisions of a catalogue: folders or files, or git revisions of one of them."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator, Sequence
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from sitegen.arguments import CommandError, NotReadOrWritten, read_without_errors
from sitegen.resources import demo_catalogue
from sitegen.words import quoted

if TYPE_CHECKING:
    from sitegen.catalogue.read import ReadResult

READ = (".yaml", ".yml", ".md")
"""The files of a catalogue."""
LINK = "120000"
"""The mode by which git marks a symbolic link."""


def two_readings(names: Sequence[str], folder: Path | None) -> tuple[ReadResult, ReadResult]:
    """The older and the newer catalogue that a command names.

    Parameters
    ----------
    names : two paths; with `folder` one or two git revisions of it.
    folder : a catalogue in a git repository; it is the newer one where one revision is named.
    """
    if folder is None:
        if len(names) != 2:
            raise CommandError(
                "name the older catalogue and the newer one, or git revisions with --at FOLDER."
            )
        for name in names:
            if not os.path.exists(name):
                raise NotReadOrWritten(
                    f"there is no catalogue {quoted(name)}."
                    " If it is a git revision, add --at and the catalogue's folder."
                )
        before, after = (read_without_errors(Path(name), name) for name in names)
        return before, after
    if len(names) not in (1, 2):
        raise CommandError("name one git revision, or the older and the newer one.")
    old = _of_revision(folder, names[0])
    return old, _of_revision(folder, names[1]) if len(names) == 2 else read_without_errors(folder)


def older_reading(since: str | None, catalogue: Path | None) -> ReadResult | None:
    """The older catalogue: what exists as a path, else a git revision of the newer one."""
    if since is None:
        return None
    if os.path.exists(since):
        return read_without_errors(Path(since), since)
    return _of_revision(catalogue or demo_catalogue(), since, ", and there is no such folder")


def _of_revision(path: Path, revision: str, tried: str = "") -> ReadResult:
    """A catalogue as it was in a git revision, from a temporary folder.

    `tried` is what else the name is not, to go into a message.
    """
    with TemporaryDirectory(prefix="sitegen-") as temporary:
        target = Path(temporary) / path.resolve().name
        for name, mode, content in _files(path, revision, tried):
            file = target if path.is_file() else target / name
            file.parent.mkdir(parents=True, exist_ok=True)
            if mode == LINK:
                file.symlink_to(os.fsdecode(content))
            else:
                file.write_bytes(content)
        return read_without_errors(target, revision)


def _files(path: Path, revision: str, tried: str) -> Iterator[tuple[str, str, bytes]]:
    """(name below the path, mode, content) of a catalogue's files in a git revision."""
    if not path.exists():
        raise NotReadOrWritten(
            f"there is no catalogue {quoted(str(path))}: after --at goes the catalogue's folder,"
            " before it the git revisions."
        )
    folder = path if path.is_dir() else path.parent
    if _git(folder, "rev-parse", "--is-inside-work-tree").returncode:
        raise NotReadOrWritten(f"{path} is in no git repository: name two folders.")
    commit = _git(folder, "rev-parse", "--verify", "--quiet", f"{revision}^{{commit}}")
    if commit.returncode or revision.startswith("-"):
        raise NotReadOrWritten(f"git has no revision {quoted(revision)} of {path}{tried}.")
    prefix = _text(_git(folder, "rev-parse", "--show-prefix"))
    where = prefix if path.is_dir() else prefix + path.name
    listed = _git(
        folder, "ls-tree", "-r", "-z", "--full-tree", _text(commit), *([where] * bool(where))
    )
    found = False
    for entry in listed.stdout.split(b"\0"):
        facts, _, name = entry.partition(b"\t")
        inside = PurePosixPath(os.fsdecode(name).removeprefix(prefix))
        if not name or inside.suffix.lower() not in READ or ".." in inside.parts:
            continue
        mode, _, blob = facts.decode().split()
        found = True
        yield str(inside), mode, _git(folder, "cat-file", "blob", blob).stdout
    if not found:
        raise NotReadOrWritten(f"in revision {quoted(revision)} there is no catalogue at {path}.")


def _git(folder: Path, *arguments: str) -> subprocess.CompletedProcess[bytes]:
    """Ask git about the repository that a folder is in."""
    environment = {k: v for k, v in os.environ.items() if not k.startswith("GIT_")}
    try:
        return subprocess.run(
            ["git", "-C", str(folder), *arguments],
            stdin=subprocess.DEVNULL,
            capture_output=True,
            env=environment,
            check=False,
        )
    except FileNotFoundError:
        raise NotReadOrWritten(
            "git is not installed: for git revisions it must be. Name two folders instead."
        ) from None


def _text(done: subprocess.CompletedProcess[bytes]) -> str:
    return os.fsdecode(done.stdout).removesuffix("\n")
