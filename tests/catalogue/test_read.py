"""Files and folders: what is read, in which order, and what no text can do to the reader."""

# Catalogue lines are quoted whole, so that they can be found again.
# ruff: noqa: E501

from __future__ import annotations

import os
import random
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from sitegen.catalogue import files, yaml_tree
from sitegen.catalogue.findings import Finding, Place
from sitegen.catalogue.model import Device
from sitegen.catalogue.panel_position import position
from sitegen.catalogue.protector_ids import protector_id
from sitegen.catalogue.read import read
from tests.catalogue.catalogue_sample import SAMPLE, read_texts, spoilt


def sections() -> dict[str, str]:
    """The sample, one file a section."""
    texts: dict[str, str] = {}
    name = ""
    for line in SAMPLE.rstrip("\n").split("\n"):
        if not line.startswith(" "):
            name = f"{len(texts):02d}-{line.split(':')[0]}.yaml"
        texts[name] = f"{texts.get(name, '')}{line}\n"
    return texts


def errors_of(texts: dict[str, str | bytes]) -> list[str]:
    return [f"{f.place}: {f.message}" for f in read_texts(texts).errors]


# folders


def test_a_catalogue_in_one_file_and_in_many_say_the_same() -> None:
    one, many = read_texts({"all.yaml": SAMPLE}), read_texts({**sections()})
    assert many.findings == ()
    assert many.catalogue == one.catalogue


def test_one_file_is_read_by_its_own_path(tmp_path: Path) -> None:
    path = tmp_path / "tern.yaml"
    path.write_text(SAMPLE.replace("format: 1\n", ""))
    assert [str(f.place) for f in read(path).findings] == ["tern.yaml:1:1"]


def test_the_order_in_which_a_disk_lists_files_does_not_matter(monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    texts: dict[str, str | bytes] = {
        f"part/{n}" if "e" in n[:5] else n: t for n, t in sections().items()
    }
    texts["notes/one.md"], texts["notes/two.md"] = "# One\n", "Two\n"
    texts["03-more.yaml"] = "buses:\n  - {id: x, nmae: X}\n  - {id: y, nmae: Y}\n"
    scandir = os.scandir

    class Shuffled:
        def __init__(self, path: Path) -> None:
            self.entries = list(scandir(path))
            random.Random(seed).shuffle(self.entries)

        def __enter__(self) -> list[os.DirEntry[str]]:
            return self.entries

        def __exit__(self, *_: object) -> None:
            pass

    readings = []
    for seed in range(6):  # noqa: B007
        monkeypatch.setattr(os, "scandir", Shuffled)
        readings.append(read_texts(texts))
        monkeypatch.setattr(os, "scandir", scandir)
    assert len(readings[0].findings) > 1
    assert all(reading == readings[0] for reading in readings)


def test_files_are_merged_in_the_order_of_their_paths() -> None:
    texts = {"b/1.yaml": "buses: [{id: b1, name: B1}]\n", "a.yaml": "buses: [{id: a, name: A}]\n",
             "b.yml": "buses: [{id: b, name: B}]\n", "all.yaml": SAMPLE}  # fmt: skip
    texts["z.yaml"] = "feeders: [{from: main, to: a}, {from: a, to: b}, {from: b, to: b1}, {from: b1, to: main}]\n"  # fmt: skip
    reading = read_texts({**texts})
    assert reading.catalogue is not None
    assert [b.id for b in reading.catalogue.buses] == ["a", "main", "essential", "ac", "b", "b1"]


def test_hidden_files_and_other_files_are_left_out() -> None:
    texts = {
        ".draft.yaml": "buses: no",
        ".git/a.yaml": "x",
        "read-me.txt": "x: [",
        "all.yaml": SAMPLE,
    }
    assert not read_texts({**texts}).findings


def test_notes_are_read_with_their_titles() -> None:
    reading = read_texts(
        {
            "all.yaml": SAMPLE,
            "notes/strobes.md": "```\n# no title\n```\n# The strobes #\nText.\n",
            "notes/bare.md": "Text.\r\n",
            "notes/deeper/not-read.md": "x",
            "other/not-read.md": "x",
        }
    )
    assert [(n.id, n.title, n.place.file) for n in reading.notes] == [
        ("bare", "bare", "notes/bare.md"),
        ("strobes", "The strobes", "notes/strobes.md"),
    ]
    assert reading.notes[0].text == "Text.\n"


def test_a_note_s_file_name_can_name_a_page() -> None:
    assert errors_of({"all.yaml": SAMPLE, "notes/My Note.md": "x"}) == [
        "notes/My Note.md:1:1: The note's file name `My Note` cannot name a page."
    ]


def test_records_know_their_places() -> None:
    reading = read_texts({"all.yaml": SAMPLE})
    assert reading.catalogue is not None
    device = reading.catalogue.devices[1]
    assert isinstance(device, Device)
    assert reading.locations.of(device) == Place("all.yaml", 16, 5)
    copied = device.model_copy(update={"note": "changed"})
    assert reading.locations.of(copied) == Place("all.yaml", 16, 5)
    assert reading.locations.at("devices", 1, "name") == Place("all.yaml", 16, 23)


# merging


def test_an_unknown_section_is_reported_with_the_closest_one() -> None:
    texts = {**sections()}
    texts["99.yaml"] = "\nbusses: [{id: x, name: X}]\n"
    reading = read_texts({**texts})
    assert [str(f) for f in reading.errors] == [
        "99.yaml:2:1: `busses` is no section of a catalogue. Did you mean `buses`?"
    ]


def test_a_section_defined_twice_names_both_places() -> None:
    texts = {**sections(), "99.yaml": "battery-time: {landing-minutes: 3}\n"}
    assert errors_of({**texts}) == [
        "99.yaml:1:1: The section `battery-time` is defined twice; first at "
        "15-battery-time.yaml:1:1."
    ]


def test_a_section_of_records_is_a_list() -> None:
    texts = {**sections(), "99.yaml": "buses: {id: x, name: X}\n"}
    assert errors_of({**texts}) == ["99.yaml:1:8: The section `buses` must be a list."]


def test_some_file_says_the_format() -> None:
    assert errors_of({"all.yaml": SAMPLE.replace("format: 1\n", "")}) == [
        "all.yaml:1:1: No file says which format it is in."
    ]


def test_the_format_is_a_number_that_is_known() -> None:
    assert errors_of({"all.yaml": SAMPLE.replace("format: 1", 'format: "1"')}) == [
        "all.yaml:1:9: `format` must be 1, not `1`."
    ]


def test_a_later_format_is_all_that_is_said() -> None:
    text = SAMPLE.replace("format: 1", "format: 2").replace("kind: diode", "kind: laser")
    assert errors_of({"all.yaml": text, "b.yaml": "batteries: []\n"}) == [
        "all.yaml:1:9: Format 2 is later than this program, which reads format 1."
    ]


# what cannot be read does not hide the rest


def test_a_broken_file_hides_no_mistake_in_another() -> None:
    texts = {**sections()}
    del texts["04-buses.yaml"]
    texts["04-buses.yaml"] = "buses:\n  - {id: main\n"
    name = next(n for n in texts if "equipment" in n)
    texts[name] = (
        texts[name]
        .replace("ata: 22", "ata: x")
        .replace("panel: wall, at: B2", "panel: wall, at: C2")
    )
    reading = read_texts({**texts})
    assert [f"{f.place}: {f.message}" for f in reading.errors] == [
        "04-buses.yaml:2:5: This `{` is not closed, or a comma is missing after it.",
        "10-equipment.yaml:10:75: breaker ATT 2 of equipment att-2: the panel `wall` has no row `C`.",
        "10-equipment.yaml:14:10: equipment pilot: `ata` must be an ATA chapter like `23`, `23-12` or `23-12-01`, not `x`.",
    ]
    assert any("was not checked" in f.message for f in reading.advice)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"a: \xe9t\xe9\n", "bad.yaml:1:4: The file is not in UTF-8 (byte E9)."),
        ("a: b".encode("utf-16"), "bad.yaml:1:1: The file is in UTF-16."),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\xff", "bad.yaml:1:1: The file is no text in UTF-8."),
        (b"a: b\nb: \0\n", "bad.yaml:2:4: The file holds a NUL byte, so it is no text."),
        (b"a: \x1b[1m\n", "bad.yaml:1:4: The file holds a character that cannot be printed (U+001B)."),
        (b"- a\n- b\n", "bad.yaml:1:1: The file does not consist of sections."),
        (b"hello", "bad.yaml:1:1: The file does not consist of sections."),
        (b"a\n---\nb\n", "bad.yaml:2:1: A second document begins here; only one is read from a file."),
        (b"x" * 5_000_001, "bad.yaml:1:1: The file is larger than 5 MB."),
        (b"a: " + b"[" * 100_000, "bad.yaml:1:1003: Values are nested too deeply."),
        (b"a: " + b"[" * 100 + b"]" * 100, "bad.yaml:1:43: Values are nested too deeply."),
        (b"\n" + b"\n".join(b" " * i + b"a:" for i in range(90)), "bad.yaml:42:41: Values are nested too deeply."),
        (b"a: &a [*a]\n", "bad.yaml:1:8: `*a` repeats a value within itself."),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)  # fmt: skip
def test_a_file_that_cannot_be_read_gives_its_message(content: bytes, message: str) -> None:
    found = errors_of({"bad.yaml": content, "z.yaml": SAMPLE})
    assert message in found
    assert len(found) == 1


def test_a_byte_order_mark_does_no_harm() -> None:
    assert not read_texts({"all.yaml": b"\xef\xbb\xbf" + SAMPLE.encode()}).findings


def test_an_empty_file_beside_others_is_advice() -> None:
    findings = read_texts({"all.yaml": SAMPLE, "b.yaml": "# nothing yet\n"}).findings
    assert [(f.kind, f.message) for f in findings] == [("advice", "The file is empty.")]


def test_an_empty_catalogue_is_an_error() -> None:
    assert errors_of({"b.yaml": ""}) == ["b.yaml:1:1: The file is empty."]


def test_an_alias_of_aliases_ends_at_the_limit() -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 12)]
    started = time.process_time()
    found = errors_of({"all.yaml": "\n".join(lines)})
    assert len(found) == 1
    assert "The catalogue holds more than 200000 values" in found[0]
    assert time.process_time() - started < 5


def test_the_values_of_all_files_are_counted_together(monkeypatch: pytest.MonkeyPatch) -> None:
    count = len(SAMPLE)
    assert not read_texts({"a.yaml": SAMPLE}).findings
    monkeypatch.setattr(yaml_tree.Budget, "__init__", lambda self: setattr(self, "values", count))
    texts = {f"{i}.yaml": "x: [" + "a," * 1000 + "]\n" for i in range(10)}
    assert any("holds more than" in message for message in errors_of({**texts}))


def test_the_files_of_a_catalogue_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "MOST_FILES", 3)
    found = errors_of({f"{i}.yaml": "" for i in range(4)})
    assert found == ["tern:1:1: The catalogue has more than 3 files."]


def test_the_entries_of_its_folders_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "MOST_ENTRIES", 3)
    found = errors_of({f"{i}.txt": "" for i in range(4)})
    assert found == ["tern:1:1: The folder holds more than 3 files."]


def test_the_size_of_a_catalogue_is_limited(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "LARGEST_CATALOGUE", 8_000_000)
    texts = {f"{i}.yaml": "#" + "x" * 3_000_000 for i in range(5)}
    found = errors_of({**texts})
    assert found[-1] == "2.yaml:1:1: The catalogue's files hold more than 8 MB up to here."
    assert len([message for message in found if "8 MB" in message]) == 1


# paths


def the_finding(path: Path) -> Finding:
    findings = read(path).findings
    assert len(findings) == 1
    return findings[0]


def test_a_path_that_is_not_there_is_a_finding(tmp_path: Path) -> None:
    assert str(the_finding(tmp_path / "none")) == (
        "none:1:1: There is no such file or folder. Check the path."
    )


def test_a_path_that_can_be_none_is_a_finding() -> None:
    assert the_finding(Path("a\0b")).message == "It cannot be read: the path is no path."
    assert the_finding(Path("x" * 5000)).message.startswith("It cannot be read")


def test_a_folder_without_a_catalogue_is_a_finding(tmp_path: Path) -> None:
    assert the_finding(tmp_path).message.startswith("This folder holds no catalogue")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs pipes with names")
def test_a_pipe_or_a_device_is_not_waited_for(tmp_path: Path) -> None:
    (tmp_path / "all.yaml").write_text(SAMPLE)
    os.mkfifo(tmp_path / "pipe.yaml")
    (tmp_path / "zero.yaml").symlink_to("/dev/zero")
    started = time.perf_counter()
    assert [f"{f.place}: {f.message}" for f in read(tmp_path, follow_links=True).errors] == [
        "pipe.yaml:1:1: This is not a regular file.",
        "zero.yaml:1:1: This is not a regular file.",
    ]
    assert read(Path("/dev/zero")).errors
    assert time.perf_counter() - started < 2


# links


needs_links = pytest.mark.skipif(sys.platform == "win32", reason="needs links")


@needs_links
@pytest.mark.parametrize("follow_links", [False, True])
def test_links_that_go_round_end(tmp_path: Path, follow_links: bool) -> None:
    (tmp_path / "all.yaml").write_text(SAMPLE)
    (tmp_path / "deep").mkdir()
    (tmp_path / "deep" / "up").symlink_to(tmp_path)
    (tmp_path / "self.yaml").symlink_to(tmp_path / "self.yaml")
    (tmp_path / ".here").symlink_to(tmp_path)
    for path in (tmp_path, tmp_path / ".here"):
        assert [f.place.file for f in read(path, follow_links).errors] == ["self.yaml"]


@pytest.fixture
def linked(tmp_path: Path) -> Path:
    """A catalogue whose feeders are in a file elsewhere, and further texts in a folder elsewhere."""
    catalogue, elsewhere = tmp_path / "tern", tmp_path / "tern-shared"
    for folder in (catalogue / "notes", elsewhere / "more"):
        folder.mkdir(parents=True)
    for name, text in sections().items():
        (catalogue / name).write_text(text)
    (feeders,) = catalogue.glob("*-feeders.yaml")
    feeders.rename(elsewhere / "feeders.yaml")
    feeders.symlink_to("../tern-shared/feeders.yaml")
    return catalogue


@needs_links
def test_a_link_out_of_the_catalogue_s_folder_is_named_and_not_followed(linked: Path) -> None:
    (linked / "notes" / "secret.md").symlink_to("/etc/hostname")
    (linked / "read-me.txt").symlink_to("/etc/hostname")
    reading = read(linked)
    (name,) = (p.name for p in linked.glob("*-feeders.yaml"))
    assert reading.catalogue is None
    assert [str(f) for f in reading.errors] == [
        f"{name}:1:1: This is a link out of the catalogue's folder, to "
        "`../tern-shared/feeders.yaml`, and is not followed. "
        "Copy the file here, or add --follow-links.",
        "notes/secret.md:1:1: This is a link out of the catalogue's folder, to "
        "`/etc/hostname`, and is not followed. Copy the file here, or add --follow-links.",
    ]
    assert reading.notes == ()


@needs_links
def test_with_follow_links_it_is_read(linked: Path) -> None:
    assert read(linked, follow_links=True).catalogue == read_texts({"all.yaml": SAMPLE}).catalogue


@needs_links
def test_with_follow_links_a_folder_elsewhere_is_read_once(linked: Path) -> None:
    elsewhere = linked.parent / "tern-shared"
    (elsewhere / "more" / "lamp.yaml").write_text(
        "indications: [{id: extra, name: EXTRA lamp, kind: lamp, lit-when: {open: [k-gen]}}]"
    )
    (elsewhere / "more" / "back").symlink_to(elsewhere / "more")
    (elsewhere / "more" / "home").symlink_to(linked)
    (linked / "more").symlink_to(elsewhere / "more")
    (linked / "again").symlink_to("more")
    assert "add --follow-links" in "".join(f.hint for f in read(linked).advice)
    reading = read(linked, follow_links=True)
    assert reading.findings == ()
    assert reading.catalogue is not None
    assert "extra" in [i.id for i in reading.catalogue.indications]


@needs_links
@pytest.mark.parametrize("backwards", [False, True])
def test_of_two_links_to_one_folder_the_first_by_name_is_followed(
    linked: Path, backwards: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    (linked.parent / "tern-shared" / "more" / "broken.yaml").write_text("buses: no list")
    for name in ("b", "a", "c"):
        (linked / name).symlink_to(linked.parent / "tern-shared" / "more")
    scandir = os.scandir

    @contextmanager
    def ordered(path: Path) -> Iterator[list[os.DirEntry[str]]]:
        yield sorted(scandir(path), key=lambda entry: entry.name, reverse=backwards)

    monkeypatch.setattr(os, "scandir", ordered)
    assert {f.place.file for f in read(linked, follow_links=True).errors} == {"a/broken.yaml"}


@needs_links
def test_a_link_within_the_catalogue_s_folder_and_a_linked_catalogue_are_read(
    tmp_path: Path,
) -> None:
    (tmp_path / "tern" / ".parts").mkdir(parents=True)
    (tmp_path / "tern" / ".parts" / "all").write_text(SAMPLE)
    (tmp_path / "tern" / "all.yaml").symlink_to(".parts/all")
    (tmp_path / "folder").symlink_to("tern")
    (tmp_path / "one.yaml").symlink_to("tern/.parts/all")
    catalogue = read_texts({"all.yaml": SAMPLE}).catalogue
    for name in ("tern", "folder", "one.yaml"):
        assert read(tmp_path / name).catalogue == catalogue


@pytest.mark.skipif(os.name != "posix", reason="needs file names of bytes")
def test_a_file_name_that_is_no_text_can_be_printed(tmp_path: Path) -> None:
    try:
        (tmp_path / os.fsdecode(b"b\xff\n.yaml")).write_text("buses: x\n")
    except OSError:
        pytest.skip("this disk takes only names that are text")
    (finding,) = read(tmp_path).errors
    str(finding).encode()
    assert "\n" not in finding.place.file


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read all")
def test_a_file_that_may_not_be_read_is_a_finding(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text(SAMPLE)
    (tmp_path / "a.yaml").chmod(0)
    assert the_finding(tmp_path).message == "Reading it is not permitted."


# small helpers that others use


def test_findings_are_in_the_order_of_their_places_errors_first() -> None:
    reading = read_texts(
        {
            "a.yaml": "switches: [{id: idle, name: Idle, positions: [a, b]}]\n",
            "b.yaml": spoilt(("name: Left strobe", "name: on"), ("volts: 24,", "volts: no,")),
        }
    )
    kinds = [f.kind for f in reading.findings]
    assert kinds == sorted(kinds, key=["error", "advice"].index)
    assert [f.place.line for f in reading.errors] == [8, 52]
    assert reading.errors + reading.advice == reading.findings
    assert reading.catalogue is None


def test_own_breakers_are_numbered_only_where_there_are_several() -> None:
    assert protector_id("com-1", 1, 0, "breaker") == "com-1.breaker"
    assert protector_id("com-1", 3, 2, "fuse") == "com-1.fuse-3"


def test_a_place_on_a_panel_is_a_row_and_a_column() -> None:
    assert position("B7", ["A", "B"], 8) == (1, 7)
    assert position("AA-2", ["A", "AA"], 8) == (1, 2)
    assert position("12", ["1", "2"], 8) == (0, 2)
    assert position("B9", ["A", "B"], 8) is None
    assert position("B²", ["A", "B"], 8) is None


def test_four_times_the_equipment_takes_about_four_times_as_long_to_read() -> None:
    """Not sixteen times: no rule may compare every record with every other one."""
    record = (
        "  - id: com-{i}\n    name: VHF COM {i}\n    ata: 23-12\n    supplies: [{{bus: main, breaker: cb-strobe}}]\n"
        "    amps: {{cruise: 2.1, approach: 6.0}}\n    on-loss: Use the other one. Markdown is allowed.\n"
    )

    def takes(number: int) -> float:
        records = "".join(record.format(i=i) for i in range(number))
        text = SAMPLE.replace("equipment:\n", "equipment:\n" + records)
        best = 99.0
        for _ in range(3):
            # The processor's time, which other work on the machine changes little.
            started = time.process_time()
            assert not read_texts({"all.yaml": text}).findings
            best = min(best, time.process_time() - started)
        return best

    assert takes(800) < 9 * takes(200)
