"""A site takes its place whole or not at all, and nothing else is touched."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from sitegen.output.publish import PublishRefused, write_site


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
