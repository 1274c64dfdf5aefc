"""The page of what a revision changes, and the links to it."""

from __future__ import annotations

from typing import Any

from sitegen.output.site import build_pocket, build_site
from tests.pages.pages_sample import reading, sample, words

Raw = dict[str, Any]


def rewired() -> Raw:
    """The sample with its clock on the essential bus."""
    raw = sample()
    raw["aircraft"].update({"revision": "3", "revised": "2026-04-01"})
    by_id = {e["id"]: e for e in raw["equipment"]}
    by_id["clock"]["supplies"][0]["bus"] = "essential"
    return raw


def site(new: Raw, old: Raw | None) -> dict[str, str]:
    files = build_site(reading(new), since=old and reading(old)).files
    return {p: c if isinstance(c, str) else c.decode(errors="replace") for p, c in files}


def test_it_names_what_changed_and_what_follows_with_links() -> None:
    page = site(rewired(), sample())["early/changes.html"]
    assert "What revision 3 changes" in page
    text = words(page)
    assert "Since revision 2 of 1 Mar 2026: 1 rewired;" in text
    assert "bus: Hot bus &rarr; Essential bus" in text
    assert '<a href="equipment-clock.html">Clock</a>' in page
    assert "Newly lost: Clock" in text
    assert '<a href="failure-essential.html">Essential bus</a> <span>dead</span>' in page
    assert "No longer lost: Clock" in text


def test_it_is_linked_from_the_front_page_and_the_foot_of_each_page_only_where_there_is_one() -> (
    None
):
    with_page, without = site(rewired(), sample()), site(rewired(), None)
    assert set(with_page) - set(without) == {"early/changes.html", "late/changes.html"}
    assert '<a href="changes.html"><b>Changes</b>' in with_page["early/index.html"]
    assert '<a href="early/changes.html">What has changed since' in with_page["index.html"]
    foot = '<a href="changes.html">What has changed since revision 2 of 1 Mar 2026</a>'
    pages = [p for p in with_page if p.startswith("early/") and p.endswith(".html")]
    assert [p for p in pages if foot not in with_page[p]] == []
    assert [p for p, text in without.items() if "changes.html" in text] == []
    assert [p for p, text in without.items() if " revised" in text and p.endswith(".html")] == []


def test_a_revision_without_a_change_says_so() -> None:
    page = site(sample(), sample())["early/changes.html"]
    assert "Nothing has changed on this airframe." in page
    assert "class=group" not in page


def test_an_airframe_that_the_older_revision_did_not_have_has_no_such_page() -> None:
    old = sample()
    old["airframes"] = [a for a in old["airframes"] if a["id"] != "late"]

    def only_early(value: Any) -> Any:
        if isinstance(value, list):
            return [only_early(v) for v in value if "early" in fitted_to(v)]
        return {k: only_early(v) for k, v in value.items()} if isinstance(value, dict) else value

    def fitted_to(value: Any) -> list[str]:
        return value.get("fitted-to", ["early"]) if isinstance(value, dict) else ["early"]

    found = site(sample(), only_early(old))
    assert "early/changes.html" in found
    assert "late/changes.html" not in found
    assert "changes.html" not in found["late/index.html"]
    assert "late/changes.html" not in found["index.html"]


def test_what_is_fitted_to_one_airframe_is_on_its_page_alone() -> None:
    new = sample()
    lamp = next(e for e in new["equipment"] if e["id"] == "late-lamp")
    lamp["supplies"][0]["breaker"]["amps"] = 5
    found = site(new, sample())
    assert "breaker amps: 3 A &rarr; 5 A" in words(found["late/changes.html"])
    assert "Nothing has changed on this airframe." in words(found["early/changes.html"])
    early = {p: t for p, t in found.items() if p.startswith("early/") and p.endswith(".html")}
    assert [p for p, t in early.items() if 'revised"' in t] == []


def test_the_pocket_edition_has_it_too() -> None:
    text, _ = build_pocket(reading(rewired()), "early", since=reading(sample()))
    assert "changes.html" in text
