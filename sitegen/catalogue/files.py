"""A path -> the texts of a catalogue's files, within limits, in an order of their own."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path

from sitegen.catalogue.findings import Finding, Place, advice, error
from sitegen.words import quoted

LARGEST_FILE = 5_000_000
"""Bytes."""
LARGEST_CATALOGUE = 20_000_000
"""Bytes, all files together."""
MOST_FILES = 1_000
MOST_ENTRIES = 20_000
"""How many names of any kind a catalogue's folders may hold."""

YAML_ENDINGS = (".yaml", ".yml")
MISNAMED = tuple(f"{ending}.txt" for ending in YAML_ENDINGS)
"""What an editor makes of the name of a YAML file."""
NOTES_FOLDER = "notes"
NOTES_ENDING = ".md"


@dataclass(frozen=True)
class File:
    """One file's text and its name relative to the catalogue."""

    name: str
    text: str


@dataclass(frozen=True)
class Gathered:
    """The files of a catalogue, each list in the order of the names."""

    yaml: tuple[File, ...]
    notes: tuple[File, ...]
    findings: tuple[Finding, ...]
    unread: int
    """How many YAML files could not be read."""


class _UnreadableError(Exception):
    """A file or folder that cannot be read; its message and hint say why."""

    def __init__(self, message: str, hint: str = "", line: int = 1, column: int = 1) -> None:
        self.message = message
        self.hint = hint
        self.line = line
        self.column = column


def gather(path: Path, follow_links: bool = False) -> Gathered:
    """Read a catalogue's files.

    Parameters
    ----------
    path : a folder, read with its subfolders, or one YAML file.
    follow_links : whether links are read that lead out of the folder.

    Returns
    -------
    The texts of `*.yaml` and `*.yml`, and of `notes/*.md` in a folder. Hidden files are left out.
    Names are relative to the folder; a single file goes by its own name. Nothing is raised for a
    path that cannot be read: that is a finding.
    """
    top = _printable(path.name or str(path))
    try:
        mode = os.stat(path).st_mode
    except (OSError, ValueError) as error:
        return Gathered((), (), (_finding(top, _why(error)),), 1)
    if not stat.S_ISDIR(mode):
        return _read_all([(top, path)], [])
    problems: list[Finding] = []
    linked: list[Finding] = []
    try:
        names = sorted(_walk(path, problems, linked, follow_links))
    except _UnreadableError as error:
        return Gathered((), (), (_finding(top, error),), 1)
    yaml = [(_printable(n), path / n) for n in names if n.lower().endswith(YAML_ENDINGS)]
    notes = [
        (_printable(n), path / n)
        for n in names
        if n.startswith(NOTES_FOLDER + "/")
        and n.count("/") == 1
        and n.lower().endswith(NOTES_ENDING)
    ]
    linked += [_misnamed(n) for n in names if n.lower().endswith(MISNAMED)]
    if problems and not yaml:
        return Gathered((), (), tuple(problems), 1)
    if not yaml:
        nothing = _UnreadableError(
            "This folder holds no catalogue: there is no file that ends in .yaml or .yml.",
            "Give the folder that holds the catalogue's files.",
        )
        return Gathered((), (), (*linked, _finding(top, nothing)), 1)
    if len(yaml) + len(notes) > MOST_FILES:
        many = _UnreadableError(
            f"The catalogue has more than {MOST_FILES} files.",
            "Give the folder that holds the catalogue only.",
        )
        return Gathered((), (), (_finding(top, many),), 1)
    read = _read_all(yaml, notes, None if follow_links else Path(os.path.realpath(path)))
    findings = (*problems, *linked, *read.findings)
    return replace(read, findings=findings, unread=read.unread + len(problems))


def _walk(
    top: Path, problems: list[Finding], linked: list[Finding], follow_links: bool
) -> Iterator[str]:
    """The relative posix names of all files; a link to a folder that is read is not followed."""
    folders = [""]
    followed = [Path(os.path.realpath(top))]
    entries = 0
    while folders:
        folder = folders.pop()
        try:
            with os.scandir(top / folder) as scan:
                # In order, so that of two links to one folder the same is followed everywhere.
                for entry in sorted(islice(scan, MOST_ENTRIES + 1), key=lambda e: e.name):
                    entries += 1
                    if entries > MOST_ENTRIES:
                        raise _UnreadableError(
                            f"The folder holds more than {MOST_ENTRIES} files.",
                            "Give the folder that holds the catalogue only.",
                        )
                    if entry.name.startswith("."):
                        continue
                    name = f"{folder}/{entry.name}" if folder else entry.name
                    if entry.is_dir(follow_symlinks=False):
                        folders.append(name)
                    elif not _leads_to_folder(entry):
                        yield name
                    elif not follow_links:
                        linked.append(_not_followed(name, _leads_into(entry, followed)))
                    elif not _leads_into(entry, followed):
                        folders.append(name)
                        followed.append(Path(os.path.realpath(entry)))
        except OSError as error:
            problems.append(_finding(_printable(folder or top.name or str(top)), _why(error)))


def _leads_into(path: str | os.PathLike[str], folders: Iterable[Path]) -> bool:
    """Whether a path, its links followed, is one of these folders or in one."""
    place = Path(os.path.realpath(path))
    return any(folder in (place, *place.parents) for folder in folders)


def _not_followed(name: str, inside: bool) -> Finding:
    option = "" if inside else " or add --follow-links"
    return advice(
        Place(_printable(name)),
        "This is a link to a folder, and links to folders are not followed: nothing in it is read.",
        f"Copy the folder here{option} if it belongs to the catalogue; else delete the link.",
    )


def _misnamed(name: str) -> Finding:
    right = _printable(name.rsplit("/", 1)[-1])[: -len(".txt")]
    return advice(
        Place(_printable(name)),
        "This file is not read: its name ends in .txt.",
        f"Rename it to {quoted(right)} if it belongs to the catalogue.",
    )


def _leads_to_folder(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_dir()
    except OSError:
        return False  # a link to itself: reading it will say so


def _read_all(
    yaml: list[tuple[str, Path]], notes: list[tuple[str, Path]], within: Path | None = None
) -> Gathered:
    """Read files; of links, those that lead to a place within a folder, or all without one."""
    findings: list[Finding] = []
    left = LARGEST_CATALOGUE
    kinds: list[list[File]] = []
    unread = 0
    for wanted in (yaml, notes):
        files: list[File] = []
        for name, path in wanted:
            if left < 0:
                break
            try:
                if within and not _leads_into(path, [within]):
                    raise _UnreadableError(
                        "This is a link out of the catalogue's folder, to "
                        f"{quoted(os.readlink(path))}, and is not followed.",
                        "Copy the file here, or add --follow-links.",
                    )
                data = _read_bytes(path)
                left -= len(data)
                if left < 0:
                    limit = LARGEST_CATALOGUE // 1_000_000
                    raise _UnreadableError(
                        f"The catalogue's files hold more than {limit} MB up to here.",
                        "Give the folder that holds the catalogue only.",
                    )
                files.append(File(name, _decode(data)))
            except _UnreadableError as error:
                findings.append(_finding(name, error))
                unread += wanted is yaml
        kinds.append(files)
    return Gathered(tuple(kinds[0]), tuple(kinds[1]), tuple(findings), unread)


def _read_bytes(path: Path) -> bytes:
    # Opened without waiting, then looked at: a pipe or a device must neither block nor be drained.
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    try:
        descriptor = os.open(path, flags)
    except (OSError, ValueError) as error:
        raise _why(error) from error
    try:
        if not stat.S_ISREG(os.fstat(descriptor).st_mode):
            raise _UnreadableError(
                "This is not a regular file.", "Delete it, or copy its text here."
            )
        with os.fdopen(descriptor, "rb", closefd=False) as stream:
            data = stream.read(LARGEST_FILE + 1)
            if data is None:  # it passes for a plain file, and would have to be waited for
                raise _UnreadableError("This is not a regular file.", "Delete it.")
    except OSError as error:
        raise _why(error) from error
    finally:
        os.close(descriptor)
    if len(data) > LARGEST_FILE:
        raise _UnreadableError(
            f"The file is larger than {LARGEST_FILE // 1_000_000} MB.",
            "Split it, or take it out of the catalogue's folder.",
        )
    return data


def _decode(data: bytes) -> str:
    if data.startswith((b"\xff\xfe\0\0", b"\0\0\xfe\xff")):
        raise _UnreadableError("The file is in UTF-32.", "Save it as plain text in UTF-8.")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _UnreadableError("The file is in UTF-16.", "Save it as plain text in UTF-8.")
    try:
        # The mark that some editors put first is harmless, so it is passed over in silence.
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if b"\0" in data[:1000]:
            raise _UnreadableError(
                "The file is no text in UTF-8.",
                "Save it as plain text in UTF-8, or take it out of the catalogue's folder.",
            ) from error
        line = data.count(b"\n", 0, error.start) + 1
        start = data.rfind(b"\n", 0, error.start) + 1
        column = len(data[start : error.start].decode("utf-8", "replace")) + 1
        raise _UnreadableError(
            f"The file is not in UTF-8 (byte {data[error.start]:02X}).",
            "Save it as plain text in UTF-8.",
            line,
            column,
        ) from error


def _why(error: Exception) -> _UnreadableError:
    if isinstance(error, FileNotFoundError):
        return _UnreadableError("There is no such file or folder.", "Check the path.")
    if isinstance(error, PermissionError):
        return _UnreadableError("Reading it is not permitted.", "Check who may read it.")
    if isinstance(error, OSError) and error.strerror:
        return _UnreadableError(f"It cannot be read ({error.strerror}).")
    return _UnreadableError("It cannot be read: the path is no path.", "Check the path.")


def _finding(name: str, reason: _UnreadableError) -> Finding:
    return error(Place(name, reason.line, reason.column), reason.message, reason.hint)


def _printable(name: str) -> str:
    """A file's name as a message can print it, whatever bytes it holds on disk."""
    text = os.fsencode(name).decode("utf-8", "replace")
    return "".join(c if c.isprintable() else "\ufffd" for c in text)
