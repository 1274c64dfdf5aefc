"""One airframe's share of a catalogue."""

from __future__ import annotations

import pytest

from sitegen.catalogue.fitted import on_airframe
from sitegen.catalogue.model import Catalogue
from sitegen.output.site import build_site
from tests.nets import expand
from tests.pages.pages_sample import reading, sample

TWO_BLOCKS = """
sources: {gen: 28}
buses: [main, sub]
devices: {cb-link: breaker, cb-new: {kind: breaker, fitted-to: [late]}}
feeders: [gen > main, main > cb-link > sub]
equipment:
  radio: {supplies: [{bus: main, breaker: {name: RADIO, amps: 5}}]}
  lamp: {supplies: [{bus: main, breaker: {id: cb-lamp, name: LAMP, amps: 5}}], fitted-to: [late]}
  fan:
    supplies:
      - {bus: main, breaker: {name: FAN L, amps: 5}}
      - {bus: sub, breaker: {name: FAN R, amps: 5}, fitted-to: [late]}
conditions:
  parked:
    sources: [gen]
    pulled: [cb-link, cb-new, radio.breaker, cb-lamp, fan.breaker-1, fan.breaker-2]
"""


@pytest.mark.parametrize(
    ("airframe", "pulled"),
    [
        ("early", ["cb-link", "radio.breaker", "fan.breaker-1"]),
        (
            "late",
            ["cb-link", "cb-new", "radio.breaker", "cb-lamp", "fan.breaker-1", "fan.breaker-2"],
        ),
    ],
)
def test_a_breaker_that_is_not_fitted_is_not_pulled(airframe: str, pulled: list[str]) -> None:
    catalogue = Catalogue.model_validate(expand(TWO_BLOCKS))
    assert on_airframe(catalogue, airframe).conditions[0].pulled == pulled


def test_the_crew_is_not_asked_to_pull_a_breaker_that_is_not_fitted() -> None:
    catalogue = sample()
    catalogue["failures"][0]["then"]["pulled"] = ["late-lamp.breaker", "clock.breaker"]
    pages = dict(build_site(reading(catalogue)).files)
    asked = {
        airframe: [
            breaker for breaker in ("CLOCK", "LAMP") if f"Pull <b class=placard>{breaker}" in page
        ]
        for airframe in ("early", "late")
        for page in [str(pages[f"{airframe}/named-failure-both.html"])]
    }
    assert asked == {"early": ["CLOCK"], "late": ["CLOCK", "LAMP"]}
