"""The site while its catalogue is written: made page by page, renewed when a file is saved."""

from __future__ import annotations

import gc
import json
import re
import shutil
import threading
import urllib.error
import urllib.request
import weakref
from collections.abc import Iterator
from pathlib import Path

import pytest

from sitegen.arguments import catalogue_errors
from sitegen.catalogue.read import read
from sitegen.output.preview import Preview, Server
from sitegen.output.site import build_site
from sitegen.pages.minifier import short_pages
from tests.pages.pages_sample import reading, sample

DEMO = Path(__file__).parents[2] / "data" / "tarn-19"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(DEMO, tmp_path / "catalogue"))


@pytest.fixture
def server(folder: Path) -> Iterator[Server]:
    shown = Preview(
        folder, lambda: read(folder), lambda reading: [str(e) for e in catalogue_errors(reading)]
    )
    made = Server(shown, "localhost", 0)
    shown.look()
    threading.Thread(target=made.serve_forever, daemon=True).start()
    yield made
    made.shutdown()
    made.server_close()


def fetch(server: Server, path: str, host: str | None = None) -> str:
    request = urllib.request.Request(server.address + path)
    if host:
        request.add_header("Host", host)
    with urllib.request.urlopen(request, timeout=60) as answer:
        return str(answer.read().decode())


def change(folder: Path, name: str, old: str, new: str) -> None:
    path = folder / name
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_pages_are_those_of_the_published_site_with_one_script_more(
    server: Server, site: Path
) -> None:
    of_one_airframe = (
        "bus-aft",
        "failure-d-ess-forward",
        "named-failure-aft-short",
        "loads",
        "blank-aft",
    )
    policy = re.compile("<meta http-equiv=[^>]*>\\s*")
    for path in (
        "index.html",
        *(f"block-1/{name}.html" for name in of_one_airframe),
        "block-1/handout-table.html",
        "block-2/note-fuse-links.html",
    ):
        text = fetch(server, path)
        script = next(line for line in text.splitlines() if "preview.js" in line)
        [made] = short_pages([text.replace(script + "\n", "")])
        # Of what is written in an attribute the policy has the hash as it is published.
        assert policy.sub("", made) == policy.sub("", (site / path).read_text("utf-8")), path
    assert fetch(server, "block-2/live.js") == (site / "block-2/live.js").read_text("utf-8")
    assert fetch(server, "") == fetch(server, "index.html")
    assert fetch(server, "style.css") == (site / "style.css").read_text(encoding="utf-8")
    assert "location.reload" in fetch(server, "-/preview.js")
    for path in ("../pyproject.toml", "sw.js"):
        # A page that is being written is kept on no device.
        with pytest.raises(urllib.error.HTTPError, match="404"):
            fetch(server, path)


def test_a_saved_file_changes_the_page_and_wakes_whoever_waits(
    server: Server, folder: Path
) -> None:
    version = server.preview.version
    states: list[dict[str, object]] = []
    waiting = threading.Thread(
        target=lambda: states.append(json.loads(fetch(server, f"-/state?since={version}")))
    )
    waiting.start()
    change(folder, "buses.yaml", "Aft bus", "Rear bus")
    assert server.preview.look()
    waiting.join(timeout=30)
    assert states == [{"version": version + 1, "messages": []}]
    assert "Rear bus" in fetch(server, "block-1/bus-aft.html")
    assert not server.preview.look()


def test_a_broken_save_keeps_the_last_good_page_and_says_what_is_wrong(
    server: Server, folder: Path
) -> None:
    change(folder, "buses.yaml", "id: aft", "id: Aft!")
    server.preview.look()
    state = json.loads(fetch(server, "-/state?since=0"))
    assert any(message.startswith("buses.yaml:") for message in state["messages"])
    page = fetch(server, "block-1/bus-aft.html")
    assert "Aft bus" in page
    # A page that is opened meanwhile asks from the state that it shows: the answer comes at once.
    assert f'data-version="{server.preview.version - 1}"' in page
    change(folder, "buses.yaml", "id: Aft!", "id: aft")
    server.preview.look()
    assert json.loads(fetch(server, "-/state?since=0"))["messages"] == []


def test_a_catalogue_that_is_broken_from_the_start_has_a_page_that_waits(folder: Path) -> None:
    change(folder, "buses.yaml", "id: aft", "id: Aft!")
    shown = Preview(folder, lambda: read(folder), lambda r: [str(e) for e in catalogue_errors(r)])
    shown.look()
    page = shown.file("index.html")
    assert page is not None
    assert b"The catalogue has errors" in page
    assert b"preview.js" in page
    assert shown.file("block-1/index.html") is None


def test_a_name_that_leads_here_from_elsewhere_reads_nothing(server: Server) -> None:
    with pytest.raises(urllib.error.HTTPError, match="421"):
        fetch(server, "index.html", host="elsewhere.example")


def test_a_site_that_is_no_longer_shown_is_forgotten() -> None:
    catalogue = sample()
    for item in catalogue["equipment"]:
        item["amps"] = 2
    site = build_site(reading(catalogue), by_page=True)
    for name in ("loads", "failure-right", "equipment-radio-1", "panel-pedestal", "handout"):
        assert site.make(f"early/{name}.html"), name
    contexts = [weakref.ref(context) for context in site.contexts]
    del site
    gc.collect()
    assert [context() for context in contexts] == [None] * 2
