"""A site takes its place whole or not at all, and nothing else is touched."""

from __future__ import annotations

import ctypes
import errno
import os
import signal
import stat
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from sitegen.output import publish
from sitegen.output.atomic_write import atomic_write
from sitegen.output.publish import LIST, PublishRefused, write_site

GROUP = next((g for g in os.getgroups() if g != os.getgid()), 4321 if os.getuid() == 0 else None)
"""A group that new files do not have by themselves, and that this process may give them."""
other_group = pytest.mark.skipif(GROUP is None, reason="this user is in one group only")
linux = pytest.mark.skipif(sys.platform != "linux", reason="as Linux has it")


def contents(folder: Path) -> dict[str, str]:
    return {
        p.relative_to(folder).as_posix(): p.read_text()
        for p in folder.rglob("*")
        if p.is_file() and not p.name.startswith(".made")
    }


def test_a_new_site_replaces_the_old_one_whole(tmp_path: Path) -> None:
    site = tmp_path / "site"
    write_site(site, [("index.html", "old"), ("a/gone.html", "old")])
    write_site(site, [("index.html", "new")])
    assert contents(site) == {"index.html": "new"}
    assert [p.name for p in tmp_path.iterdir()] == ["site"]


@pytest.mark.parametrize("end", [RuntimeError, KeyboardInterrupt])
def test_a_run_that_fails_half_way_leaves_the_old_site(
    tmp_path: Path, end: type[BaseException]
) -> None:
    site = tmp_path / "site"
    write_site(site, [("index.html", "old")])

    def half() -> Iterator[tuple[str, str]]:
        yield "index.html", "new"
        raise end

    with pytest.raises(end):
        write_site(site, half())
    assert contents(site) == {"index.html": "old"}
    assert [p.name for p in tmp_path.iterdir()] == ["site"]


def test_a_folder_that_publish_did_not_make_is_refused_and_left(tmp_path: Path) -> None:
    mine = tmp_path / "mine"
    mine.mkdir()
    (mine / "thesis.txt").write_text("years of work")
    with pytest.raises(PublishRefused, match=r"thesis\.txt"):
        write_site(mine, [("index.html", "new")])
    assert contents(mine) == {"thesis.txt": "years of work"}


def test_a_file_put_into_a_site_by_hand_is_not_lost(tmp_path: Path) -> None:
    site = tmp_path / "site"
    write_site(site, [("index.html", "old")])
    (site / "notes.txt").write_text("by hand")
    with pytest.raises(PublishRefused, match=r"notes\.txt"):
        write_site(site, [("index.html", "new")])
    assert contents(site) == {"index.html": "old", "notes.txt": "by hand"}


def test_the_ignore_file_of_the_default_folder_stays(tmp_path: Path) -> None:
    site = tmp_path / "site"
    site.mkdir()
    (site / ".gitignore").write_text("*\n")
    write_site(site, [("index.html", "new")])
    assert (site / ".gitignore").read_text() == "*\n"


# in the old folder


@pytest.fixture(params=["exchange", "no exchange"])
def site(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A site of three files, on a system that can exchange two names or cannot."""
    if request.param == "no exchange":
        monkeypatch.setattr(publish, "_exchange", lambda one, other: False)
    folder = tmp_path / "site"
    write_site(folder, [("index.html", "old"), ("a/page.html", "old"), ("b/gone.html", "old")])
    return folder


NEW = [("index.html", "new"), ("a/page.html", "new"), ("c/d/added.html", "new")]


def is_new(site: Path) -> bool:
    """Whether a folder has the new site, its list, and nothing else."""
    assert contents(site) == dict(NEW)
    assert not (site / "b").exists()
    assert (site / LIST).read_text().splitlines() == sorted(path for path, _ in NEW)
    assert [p.name for p in site.parent.iterdir()] == ["site"]
    return True


@pytest.mark.parametrize("inside", [".", "a"])
def test_the_folder_in_which_this_process_is_stays(
    site: Path, inside: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(site / inside)
    write_site(Path(os.path.relpath(site)), NEW)
    assert Path("page.html" if inside == "a" else "index.html").read_text() == "new"
    assert os.path.samefile(".", site / inside)
    assert is_new(site)


@linux
@pytest.mark.parametrize("inside", [".", "a"])
def test_the_folder_in_which_another_process_is_stays(site: Path, inside: str) -> None:
    with subprocess.Popen(["cat"], cwd=site / inside, stdin=subprocess.PIPE) as shell:
        write_site(site, NEW)
        assert os.path.samefile(f"/proc/{shell.pid}/cwd", site / inside)
        assert shell.stdin is not None
        shell.stdin.close()
    assert is_new(site)


def test_a_folder_in_which_nobody_is_is_replaced_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = tmp_path / "site"
    write_site(site, [("index.html", "old")])
    monkeypatch.setattr(publish, "_swap_files", None)
    before = site.stat().st_ino
    write_site(site, NEW)
    assert site.stat().st_ino != before
    assert is_new(site)


@pytest.mark.parametrize("why", [errno.EXDEV, errno.EACCES, errno.EBUSY, errno.EROFS])
def test_a_folder_that_cannot_be_renamed_is_published_to(
    site: Path, why: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    rename = Path.rename

    def refuse(self: Path, to: Path) -> Path:
        if site.parent in (self.parent, Path(to).parent):
            raise OSError(why, os.strerror(why))
        return rename(self, to)

    monkeypatch.setattr(Path, "rename", refuse)
    before = site.stat().st_ino
    write_site(site, NEW)
    assert site.stat().st_ino == before
    assert is_new(site)


def test_a_folder_of_somebody_else_and_a_link_in_the_site_stay(site: Path, tmp_path: Path) -> None:
    (site / "uploads" / "empty").mkdir(parents=True)
    (site / "b" / "mine").mkdir()
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "thesis.txt").write_text("years of work")
    (site / "charts").symlink_to(tmp_path / "elsewhere")
    write_site(site, NEW)
    assert (site / "uploads" / "empty").is_dir()
    assert (site / "b" / "mine").is_dir()
    assert (site / "charts").is_symlink()
    assert (site / "charts" / "thesis.txt").read_text() == "years of work"
    assert (site / "index.html").read_text() == "new"
    assert not (site / "b" / "gone.html").exists()


@pytest.mark.parametrize("path", ["index.html", "a", "c"])
def test_a_link_where_publish_writes_is_refused_and_stays(
    site: Path, path: str, tmp_path: Path
) -> None:
    there = tmp_path / "elsewhere"
    there.mkdir()
    if (site / path).exists():
        (site / path).rename(there / "mine")
    else:
        (there / "mine").mkdir()
    (site / path).symlink_to(there / "mine")
    with pytest.raises(PublishRefused, match=f"holds {path}, a link"):
        write_site(site, NEW)
    assert (site / path).is_symlink()
    assert (site / "b" / "gone.html").read_text() == "old"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["elsewhere", "site"]


class Steps:
    """Counts what changes names in a site, and ends the run before one of them."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, end: Callable[[], object]) -> None:
        self.end, self.left = end, -1
        for owner, name in ((Path, "rename"), (Path, "mkdir"), (Path, "rmdir"), (os, "replace")):
            monkeypatch.setattr(owner, name, self.counted(getattr(owner, name)))
        monkeypatch.setattr(publish, "_exchange", self.counted(publish._exchange))
        swap_files = publish._swap_files

        def counting(*arguments: Any) -> None:
            self.left = self.wanted
            swap_files(*arguments)
            self.left = -1

        monkeypatch.setattr(publish, "_swap_files", counting)
        self.wanted = -1

    def counted(self, step: Callable[..., Any]) -> Callable[..., Any]:
        def run(*arguments: Any, **options: Any) -> Any:
            self.left -= 1
            if self.left == 0:
                self.end()
            return step(*arguments, **options)

        return run


def full() -> None:
    raise OSError(errno.ENOSPC, "No space left on device")


def test_an_error_at_any_step_in_the_old_folder_takes_all_steps_back(
    site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    old, listed = contents(site), (site / LIST).read_text()
    folders = {p for p in site.rglob("*") if p.is_dir()}
    monkeypatch.chdir(site)
    steps = Steps(monkeypatch, full)
    for steps.wanted in range(1, 100):
        try:
            write_site(site, NEW)
        except OSError:
            assert contents(site) == old, steps.wanted
            assert (site / LIST).read_text() == listed, steps.wanted
            assert {p for p in site.rglob("*") if p.is_dir()} == folders, steps.wanted
            assert [p.name for p in site.parent.iterdir()] == ["site"]
        else:
            break
    assert 8 < steps.wanted < 30
    assert is_new(site)


def killed(run: Callable[[], object]) -> None:
    """Run something in a process that is killed."""
    child = os.fork()
    if not child:
        try:
            run()
        finally:
            os._exit(0)
    assert os.waitpid(child, 0)[1] in (0, signal.SIGKILL)


def kill() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


@linux
def test_a_run_that_is_killed_at_any_step_in_the_old_folder_is_repaired_by_the_next(
    site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(site)
    with monkeypatch.context() as patch:
        steps = Steps(patch, kill)
        for steps.wanted in range(1, 20):
            killed(lambda: write_site(site, NEW))
            steps.wanted = -1
            write_site(
                site, [("index.html", "old"), ("a/page.html", "old"), ("b/gone.html", "old")]
            )
    write_site(site, NEW)
    assert is_new(site)


# what a killed run leaves


def half(end: Callable[[], object]) -> Iterator[tuple[str, str]]:
    yield "index.html", "half"
    end()


@linux
@pytest.mark.parametrize("inside", [False, True])
def test_what_a_killed_run_left_is_removed_at_once(
    site: Path, inside: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    if inside:
        monkeypatch.setattr(publish, "_new_folder", in_the_site)
    killed(lambda: write_site(site, half(kill)))
    where = site if inside else site.parent
    assert len([p for p in where.iterdir() if ".partial-" in p.name]) == 1
    assert contents(site)["index.html"] == "old"
    write_site(site, NEW)
    assert is_new(site)


@linux
def test_a_killed_run_s_other_processes_do_not_keep_its_leftovers(site: Path) -> None:
    reading, writing = os.pipe()
    ready, started = os.pipe()

    def pages() -> Iterator[tuple[str, str]]:
        yield "index.html", "half"
        if not os.fork():
            os.close(writing)
            os.write(started, b"x")
            os.read(reading, 1)  # until the test ends
            os._exit(0)
        os.read(ready, 1)
        kill()

    killed(lambda: write_site(site, pages()))
    write_site(site, NEW)
    assert is_new(site)
    for descriptor in (reading, writing, ready, started):
        os.close(descriptor)


@linux
def test_a_process_made_later_keeps_its_files(tmp_path: Path) -> None:
    write_site(tmp_path / "site", NEW)
    files = os.pipe()  # with the number that the lock had
    child = os.fork()
    if not child:
        for descriptor in files:
            try:
                os.fstat(descriptor)
            except OSError:
                os._exit(1)
        os._exit(0)
    assert os.waitpid(child, 0)[1] == 0
    for descriptor in files:
        os.close(descriptor)


def in_the_site(target: Path) -> Path:
    fresh = target / publish.unfinished_name(publish.INSIDE)
    fresh.mkdir()
    return fresh


@linux
@pytest.mark.parametrize("inside", [False, True])
def test_what_another_run_is_writing_is_left_alone(
    site: Path, inside: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    if inside:
        monkeypatch.setattr(publish, "_new_folder", in_the_site)

    def meanwhile() -> Iterator[tuple[str, str]]:
        yield "index.html", "new"
        write_site(site, [("index.html", "first")])
        assert contents(site)["index.html"] == "first"
        yield from NEW[1:]

    write_site(site, meanwhile())
    assert is_new(site)


def test_only_what_has_a_name_of_ours_is_a_leftover(site: Path, tmp_path: Path) -> None:
    others = [
        ".site.partial-notes",
        ".site.partial-1-2-3",
        ".other.partial-1-2",
        "site.partial-1-2",
    ]
    for name in others:
        (tmp_path / name).mkdir()
    (tmp_path / "mine").write_text("years of work")
    (tmp_path / ".site.partial-3-4").symlink_to(tmp_path / "mine")
    os.utime(tmp_path / ".site.partial-3-4", (0, 0), follow_symlinks=False)
    (tmp_path / ".site.partial-5-6").mkdir()
    write_site(site, NEW)
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(
        [*others, "site", "mine", ".site.partial-3-4"]
    )


# owner, group and mode


@other_group
@pytest.mark.parametrize("mode", [0o750, 0o2775, 0o700])
def test_the_mode_and_group_of_the_old_folder_stay(site: Path, mode: int) -> None:
    os.chown(site, -1, GROUP or -1)
    os.chmod(site, mode)
    write_site(site, NEW)
    assert stat.S_IMODE(site.stat().st_mode) == mode
    assert site.stat().st_gid == GROUP
    if mode == 0o2775:
        assert (site / "c" / "d" / "added.html").stat().st_gid == GROUP
    assert is_new(site)


@other_group
def test_a_folder_whose_group_this_user_cannot_give_stays(
    site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    os.chown(site, -1, GROUP or -1)

    def refuse(*_: object) -> None:
        raise PermissionError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "chown", refuse)
    before = site.stat()
    write_site(site, NEW)
    assert (site.stat().st_ino, site.stat().st_gid) == (before.st_ino, GROUP)
    assert is_new(site)


# the disk


def test_everything_is_on_the_disk_before_the_old_site_goes(
    site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    flush, flushed = publish._flush, []

    def look(folder: Path) -> None:
        assert {**contents(folder)} == dict(NEW)
        assert (folder / LIST).is_file()
        assert contents(site)["index.html"] == "old"
        flush(folder)
        flushed.append(folder)

    monkeypatch.setattr(publish, "_flush", look)
    write_site(site, NEW)
    assert len(flushed) == 1
    assert is_new(site)


def test_a_disk_that_does_not_take_the_new_site_leaves_the_old(
    site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Broken:
        def syncfs(self, descriptor: int) -> int:
            ctypes.set_errno(errno.EIO)
            return -1

    monkeypatch.setattr(publish, "_system", Broken)
    with pytest.raises(OSError, match="Input/output error"):
        write_site(site, NEW)
    assert contents(site)["b/gone.html"] == "old"
    assert [p.name for p in site.parent.iterdir()] == ["site"]


# one file


@other_group
def test_a_file_keeps_its_mode_and_group(tmp_path: Path) -> None:
    path = tmp_path / "paper.html"
    path.write_text("old")
    os.chown(path, -1, GROUP or -1)
    os.chmod(path, 0o640)
    atomic_write(path, "new")
    assert path.read_text() == "new"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert path.stat().st_gid == GROUP


def test_a_new_file_can_be_read_by_whom_the_user_lets_read_his_files(tmp_path: Path) -> None:
    old = os.umask(0o027)
    try:
        atomic_write(tmp_path / "paper.html", "new")
    finally:
        os.umask(old)
    assert stat.S_IMODE((tmp_path / "paper.html").stat().st_mode) == 0o640


def test_a_file_that_the_disk_does_not_take_leaves_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "paper.html"
    path.write_text("old")

    def refuse(descriptor: int) -> None:
        full()

    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(OSError, match="No space"):
        atomic_write(path, "new")
    assert path.read_text() == "old"
    assert os.listdir(tmp_path) == ["paper.html"]


@linux
def test_what_a_killed_run_left_of_a_file_is_removed_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "paper.html"
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", lambda descriptor: kill())
        killed(lambda: atomic_write(path, "half"))
    assert len(os.listdir(tmp_path)) == 1
    atomic_write(path, "new")
    assert os.listdir(tmp_path) == ["paper.html"]
