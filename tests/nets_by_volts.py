"""Small networks in which much goes by volts, with batteries anywhere in a range."""

from __future__ import annotations

import random

from sitegen.solver.network import Network
from tests.nets import network

SENSED = """
sources:
  gen: {volts: 28}
  bat: {kind: battery, volts: 24, volts-range: [22, 26]}
buses: [main, sense]
devices:
  k-gen: {kind: contactor, closes-when: {live: [gen]}}
  cb-sense: breaker
feeders: [gen > k-gen > main, bat > main, main > cb-sense > sense]
equipment:
  radio: {min-volts: 25, supplies: [{bus: main, breaker: {name: COM, amps: 5}}]}
  fan: {supplies: [{bus: main}]}
indications:
  v: {kind: voltmeter, at: main}
  gen-off: {kind: lamp, lit-when: [{open: [k-gen]}, {open: [cb-sense]}], supplies: [{bus: main}]}
conditions: {flight: {sources: [gen, bat]}, battery: {sources: [bat]}}
"""
"""A lamp that is lit by a failure with no effect on volts, and by one that leaves the battery."""

TWO_BATTERIES = """
sources:
  gen: {kind: KIND, volts: 28, volts-range: [27, 29]}
  bat: {kind: battery, volts: 24, volts-range: [21, 26]}
  aux: {kind: battery, volts: 24, volts-range: [20, 25]}
buses: [main, left, right]
devices:
  k-gen: {kind: contactor, closes-when: {live: [gen]}}
  d: {kind: diode, drop-volts: 0.7}
  k-left: {kind: relay, closes-when: {volts-SIDE: {main: LIMIT}}}
  k-right: {kind: relay, closes-when: {volts-above: {right: LIMIT}}}
feeders: [gen > k-gen > main, bat > main, aux > d > right, main > k-left > left,
  main > k-right > right]
equipment:
  pump: {min-volts: LIMIT, supplies: [{bus: main}]}
  radio: {min-volts: LIMIT, supplies: [{bus: main}]}
  lamp: {min-volts: LIMIT, supplies: [{bus: left}]}
  clock: {min-volts: LIMIT, supplies: [{bus: right}]}
  fan: {min-volts: LIMIT, supplies: [{bus: right}]}
indications:
  v-main: {kind: voltmeter, at: main}
  v-right: {kind: voltmeter, at: right}
  gen-off: {kind: lamp, lit-when: {open: [k-gen]}, supplies: [{bus: main}]}
conditions: {flight: {sources: [gen, bat, aux]}}
"""


def two_batteries(chance: random.Random) -> Network:
    """A generator and two batteries with ranges; nearly everything goes by volts."""
    text = TWO_BATTERIES.replace("SIDE", chance.choice(("above", "below")))
    text = text.replace("KIND", chance.choice(("generator", "external-power")))
    while "LIMIT" in text:
        text = text.replace("LIMIT", str(chance.randint(21, 28)), 1)
    return network(text)
