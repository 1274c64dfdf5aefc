"""Links and pictures in an author's texts: what leads nowhere is an error, at its place."""

# Catalogue lines are quoted whole, so that they can be found again.
# ruff: noqa: E501

from __future__ import annotations

import pytest

from sitegen.catalogue.findings import Finding, Place
from sitegen.output.site import build_site
from tests.catalogue.catalogue_sample import SAMPLE, only_finding, read_texts, spoilt
from tests.pages.pages_sample import reading, sample

PILOT = "requires: [{any: [att-1, att-2]}]"
"""A line of the autopilot in the sample, after which a field can be added."""


def noted(text: str) -> tuple[Finding, ...]:
    """The findings with this longer text beside the sample."""
    return read_texts({"all.yaml": SAMPLE, "notes/fuel.md": text}).findings


def on_loss(text: str) -> tuple[str, str]:
    """The change that gives the autopilot a text of what to do."""
    return (PILOT, f"{PILOT}\n    on-loss: {text}")


def test_a_link_to_an_id_that_is_nowhere_is_an_error_with_the_likely_id() -> None:
    finding = only_finding(on_loss('"By hand, on [horizon 1](¤att1), and com-1."'))
    assert finding.kind == "error"
    assert finding.message == "equipment pilot: the link to `att1` leads nowhere."
    assert finding.hint == "Did you mean `att-1`?"


@pytest.mark.parametrize(
    "target",
    [
        *("gen", "main", "k-gen", "cb-strobe", "att-1", "att-1.breaker", "gen-out", "attitude"),
        *("fuel", "equipment-att-1.html", "bus-main.html", "failure-main.html#flight", "#below"),
        *("loads.html", "note-fuel.html", "panel-wall.html", "function-attitude.html"),
        *("named-failure-gen-out.html", "https://example.org/att1", "charts/left.pdf", "left.pdf"),
    ],
)
def test_a_link_to_what_has_a_page_and_to_a_file_beside_the_site_is_fine(target: str) -> None:
    assert noted(f"# Fuel\n\nSee [this]({target}).\n") == ()


@pytest.mark.parametrize(
    ("target", "message", "hint"),
    [
        ("wall", "the link to `wall` leads nowhere.", "Write `panel-wall.html`."),
        ("attitud", "the link to `attitud` leads nowhere.", "Did you mean `attitude`?"),
        ("feul", "the link to `feul` leads nowhere.", "Did you mean `fuel`?"),
        ("ATT-1", "the link to `ATT-1` leads nowhere.", "Did you mean `att-1`?"),
        ("att-1#supplies", "the link to `att-1#supplies` leads nowhere.", "Did you mean `att-1`?"),
        ("gen-off", "the link to `gen-off` leads nowhere.", "Did you mean `gen`?"),
        ("bus-mian.html", "the link to `bus-mian.html` leads nowhere.", "Did you mean `bus-main.html`?"),
        ("bus-att-1.html", "the link to `bus-att-1.html` leads nowhere.", "Write an id of the catalogue, or the name of a note."),
        ("http://example.org", "the link to `http://example.org` is left out.", "Write an id, or a link with https."),
        ("//example.org/x", "the link to `//example.org/x` is left out.", "Write an id, or a link with https."),
    ],
)  # fmt: skip
def test_what_has_no_page_of_its_own_is_no_target(target: str, message: str, hint: str) -> None:
    (finding,) = noted(f"# Fuel\n\nTwo lines down\nis a [link]({target}).\n")
    assert finding.place == Place("notes/fuel.md", 4, 13)
    assert (finding.message, finding.hint) == (f"note fuel: {message}", hint)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (PILOT, f"{PILOT}\n    note: a [b](¤cdef)"),
        (PILOT, f"{PILOT}\n    on-loss: |\n      One.\n\n      Two [b](¤cdef)."),
        (PILOT, f"{PILOT}\n    on-loss: >-\n      One\n      two [b\n      b](¤cdef)."),
        (PILOT, f"{PILOT}\n    if-it-comes-on: '[b](¤cdef)'"),
        ("shed: [strobe-left]", 'shed: [strobe-left], note: "[b](¤cdef)"'),
        ("failed: [gen]", 'failed: [gen], notes-in: {cruise: "[b](¤cdef)"}'),
        ("name: Cruise, sources", 'name: Cruise, note: "[b](¤cdef)", sources'),
        (PILOT, f'{PILOT}\n    note: "[b][b]\\n\\n[b]: ¤cdef"'),
        (PILOT, f"{PILOT}\n    note: 'Not com-1: <a href=\"¤cdef\">b</a>'"),
    ],
)
def test_every_text_of_the_catalogue_is_looked_at(old: str, new: str) -> None:
    assert "`cdef` leads nowhere" in only_finding((old, new)).message


def test_each_of_several_wrong_links_has_its_own_place() -> None:
    found = noted("[a](one) then [b](gen), [c](two)\nand [d](one).\n")
    assert [(f.place.line, f.place.column) for f in found] == [(1, 5), (1, 29), (2, 9)]


@pytest.mark.parametrize(
    "picture", ["![The panel](panel.png)", '<img src="panel.png">', "![x](gen)"]
)
def test_a_picture_is_advice_since_no_page_shows_it(picture: str) -> None:
    (finding,) = noted(f"# Fuel\n\nHere: {picture}\n")
    assert finding.kind == "advice"
    assert finding.place == Place("notes/fuel.md", 3, 7)
    assert finding.message == "note fuel: a picture is not shown."


@pytest.mark.parametrize("text", ["`[b](cdef)`", "Code:\n\n    [b](cdef) ![x](y)\n", "\\[b](cdef)"])
def test_what_markdown_reads_as_code_or_as_letters_is_no_link(text: str) -> None:
    assert noted(f"# Fuel\n\n{text}\n") == ()


def test_a_link_may_lead_to_what_another_mistake_keeps_from_being_read() -> None:
    broken = spoilt(on_loss('"[b](main)"'), ("id: main, name: Main bus", "id: main, nam: Main bus"))
    assert "leads nowhere" not in "".join(
        f.message for f in read_texts({"all.yaml": broken}).findings
    )


def test_every_page_of_a_site_can_be_linked_to() -> None:
    files = [path for path, _ in build_site(reading(sample())).files]
    pages = [path.partition("/")[2] for path in files if path.startswith("early/")]
    links = " ".join(f"[x]({page})" for page in pages if page.endswith(".html"))
    assert len(pages) > 30
    assert not reading(sample(), {"links": links}).findings


def test_the_page_of_the_fleet_has_no_link_into_one_airframe() -> None:
    catalogue = sample()
    catalogue["aircraft"]["statement"] = "See [the left bus](left)."
    front = dict(build_site(reading(catalogue)).files)["index.html"]
    assert "See the left bus." in str(front).replace("<a>", "").replace("</a>", "")
    assert 'href="left"' not in str(front)


# nesting


@pytest.mark.parametrize(
    "deep",
    [
        "- " * 3000,
        "1. " * 60,
        "> " * 60,
        "    " * 60,
        "[" * 60,
        "[x](" * 60,
        "<sup>" * 60,
        "<a " * 1100,
    ],
    ids=["list", "numbers", "quote", "indented", "brackets", "links", "tags", "tags without end"],
)
def test_a_text_that_is_nested_too_deeply_is_an_error_at_its_line(deep: str) -> None:
    (finding,) = noted(f"# Fuel\n\nA pump.\n\n{deep}x\n")
    assert finding.kind == "error"
    assert (finding.place.file, finding.place.line) == ("notes/fuel.md", 5)
    assert finding.message == "note fuel: lists, quotes, links or tags are nested too deeply here."
    assert "50 at most" in finding.hint


def test_lists_nested_line_by_line_are_an_error_at_the_first_line_that_is_too_deep() -> None:
    (finding,) = noted("\n".join(f"{'    ' * level}- pump {level}" for level in range(300)))
    assert finding.place == Place("notes/fuel.md", 51, 201)


def test_the_line_that_is_too_deep_is_found_among_lines_that_read_the_same() -> None:
    (finding,) = noted("- pump\n\n" * 20 + "    " * 50 + "- pump\n")
    assert finding.place == Place("notes/fuel.md", 41, 201)


def test_a_field_that_is_nested_too_deeply_is_an_error_at_its_line() -> None:
    finding = only_finding(on_loss("|\n      By hand.\n\n      ¤" + "- " * 60 + "[x](att1)"))
    assert finding.message.startswith("equipment pilot: lists, quotes, links or tags are nested")


@pytest.mark.parametrize(
    "text",
    [
        "- " * 50 + "x",
        "- " * 500,
        "[left](gen) " * 100,
        "below 20<br>" * 100,
        "V<Vmin " * 100,
        "a | b\n--|--\n" + "x<sup>2</sup> | [0, 5]\n" * 100,
        "an open [bracket\n\n" * 100,
    ],
    ids=["list", "ruler", "links", "line breaks", "less than", "table", "brackets"],
)
def test_a_text_that_is_only_long_is_fine(text: str) -> None:
    assert noted(f"# Fuel\n\n{text}\n") == ()


def test_the_deepest_list_that_is_accepted_is_published() -> None:
    result = read_texts({"all.yaml": SAMPLE, "notes/fuel.md": "- " * 50 + "last"})
    pages = dict(build_site(result).files)
    page = next(content for path, content in pages.items() if path.endswith("note-fuel.html"))
    assert str(page).count("<ul") >= 50
