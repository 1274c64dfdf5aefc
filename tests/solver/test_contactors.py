"""What closes a contactor, how the states settle, and what happens when they do not."""

from __future__ import annotations

import pytest

from sitegen.answers.chatter import chattering
from sitegen.catalogue.model import Then
from sitegen.solver import steady_state
from tests.nets import after, closed, live, network

# What closes it


def test_all_terms_of_a_structure_must_hold() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    devices: {k: {kind: contactor, closes-when: {switches: {s: "on", t: "on"}, live: [gen]}}}
    switches: {s: ["off", "on"], t: ["off", "on"]}
    feeders: [gen > k > main]
    conditions:
      both: {sources: [gen], switches: {s: "on", t: "on"}}
      one: {sources: [gen], switches: {s: "on"}}
      off-line: {sources: [], switches: {s: "on", t: "on"}}
    """
    assert closed(after(net, condition="both")) == {"k"}
    assert closed(after(net, condition="one")) == set()
    assert closed(after(net, condition="off-line")) == set()


def test_any_one_structure_of_a_list_is_enough() -> None:
    net = """
    sources: {left: 28, right: 28}
    buses: [main]
    devices: {k: {kind: contactor, closes-when: [{live: [left]}, {live: [right]}]}}
    feeders: [left > k > main]
    """
    assert closed(after(net, "left")) == closed(after(net, "right")) == {"k"}
    assert closed(after(net, "left", "right")) == set()


def test_a_switch_that_a_condition_does_not_name_stands_in_its_first_position() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    devices: {k: {kind: relay, closes-when: {switches: {s: "normal"}}}}
    switches: {s: [normal, emergency]}
    feeders: [gen > k > main]
    conditions: {named: {sources: [gen], switches: {s: emergency}}, not-named: {sources: [gen]}}
    """
    assert closed(after(net, condition="not-named")) == {"k"}
    assert closed(after(net, condition="named")) == set()


def test_live_of_a_source_means_that_it_produces_and_not_that_its_terminals_are_live() -> None:
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [main, hot]
    devices:
      k-source: {kind: relay, closes-when: {live: [bat]}}
      k-bus: {kind: relay, closes-when: {live: [hot]}}
    feeders: [gen > main, main > bat, bat > hot]
    """
    loss = after(net, "bat")
    assert live(loss) == {"gen", "main", "bat", "hot"}
    assert closed(loss) == {"k-bus"}


def test_live_of_a_converter_means_that_it_produces() -> None:
    net = """
    sources: {gen: 28, apu: 115, inv: {kind: converter, volts: 115, fed-from: {bus: main}}}
    buses: [main, ac]
    devices: {k: {kind: relay, closes-when: {live: [inv]}}}
    feeders: [gen > main, inv > ac, apu > ac]
    """
    assert closed(after(net)) == {"k"}
    loss = after(net, "main")
    assert "inv" in live(loss)
    assert closed(loss) == set()


def test_dead_means_not_live() -> None:
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [main, standby]
    devices:
      k: {kind: relay, closes-when: {dead: [main]}}
      k-2: {kind: relay, closes-when: {dead: [gen]}}
    feeders: [gen > main, bat > k > standby]
    """
    assert closed(after(net)) == set()
    assert closed(after(net, "main")) == {"k"}
    assert closed(after(net, "gen")) == {"k", "k-2"}


def test_a_contactor_follows_another_being_closed_or_open() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    devices:
      k: {kind: contactor, closes-when: {live: [gen]}}
      follows: {kind: relay, closes-when: {closed: [k]}}
      opposes: {kind: relay, closes-when: {open: [k]}}
    feeders: [gen > k > main]
    """
    assert closed(after(net)) == {"k", "follows"}
    assert closed(after(net, "gen")) == {"opposes"}
    assert closed(after(net, "k:open")) == {"opposes"}
    assert closed(after(net, "k:stuck-closed", "gen")) == {"k", "follows"}


def test_a_contactor_whose_coil_breaker_is_open_opens() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    devices: {cb-coil: breaker, k: {kind: contactor, closes-when: {live: [gen], closed: [cb-coil]}}}
    feeders: [gen > k > main]
    """
    assert closed(after(net)) == {"k", "cb-coil"}
    assert closed(after(net, "cb-coil")) == set()


def test_a_contactor_with_an_empty_structure_of_terms_is_always_closed() -> None:
    net = "sources: {gen: 28}\ndevices: {k: {kind: contactor, closes-when: {}}}"
    assert closed(after(net, "gen")) == {"k"}


# How the states settle

LATCH = """
sources: {gen: 28, shore: {kind: external-power, volts: 28}}
buses: [main]
devices:
  k:
    kind: contactor
    closes-when: [{switches: {button: pressed}, live: [gen]}, {closed: [k], live: [main]}]
  k-shore: {kind: contactor, closes-when: {live: [shore]}}
switches: {button: [released, pressed]}
feeders: [gen > k > main, shore > k-shore > main]
conditions:
  rest: {sources: [gen]}
  held: {sources: [gen], held-closed: [k]}
  held-without-power: {sources: [], held-closed: [k]}
  held-on-both: {sources: [gen, shore], held-closed: [k]}
"""


def test_a_condition_starts_with_every_contactor_open() -> None:
    assert closed(after(LATCH, condition="rest")) == set()


def test_a_contactor_that_holds_itself_in_stays_in_where_a_condition_holds_it_closed() -> None:
    assert closed(after(LATCH, condition="held")) == {"k"}


def test_a_contactor_that_is_held_closed_drops_out_when_nothing_holds_it_in() -> None:
    assert closed(after(LATCH, condition="held-without-power")) == set()


def test_a_failure_starts_from_the_settled_state_so_a_fed_contactor_stays_in() -> None:
    assert closed(after(LATCH, "shore", condition="held-on-both")) == {"k"}
    assert "main" in live(after(LATCH, "shore", condition="held-on-both"))


def test_a_contactor_that_holds_itself_in_drops_out_when_its_bus_dies() -> None:
    assert closed(after(LATCH, "main", condition="held")) == set()
    assert closed(after(LATCH, "gen", condition="held")) == set()


def test_a_contactor_that_dropped_out_needs_the_button_again() -> None:
    loss = after(LATCH, condition="rest", then=Then(switches={"button": "pressed"}))
    assert closed(loss) == {"k"}


def test_what_the_crew_does_starts_from_where_the_failure_left_the_contactors() -> None:
    loss = after(
        LATCH, "shore", condition="held-on-both", then=Then(switches={"button": "pressed"})
    )
    assert closed(loss) == {"k"}
    # Nothing but its own hold keeps it in.
    loss = after(LATCH, "shore", condition="held-on-both", then=Then())
    assert closed(loss) == {"k"}
    loss = after(LATCH, "shore", "main", condition="held-on-both", then=Then())
    assert closed(loss) == set()


def test_a_contactor_that_names_only_itself_stays_as_it_was() -> None:
    net = """
    sources: {gen: 28}
    devices: {k: {kind: contactor, closes-when: {closed: [k]}}}
    conditions: {rest: {sources: [gen]}, held: {sources: [gen], held-closed: [k]}}
    """
    assert closed(after(net, condition="rest")) == set()
    assert closed(after(net, condition="held")) == {"k"}
    assert closed(after(net, "gen", condition="held")) == {"k"}


def test_a_latching_relay_that_sticks_closed_holds_what_follows_it() -> None:
    net = LATCH + "equipment: {radio: main}\n"
    assert after(net, "k:stuck-closed", condition="rest").comes_on == ("radio",)


def test_the_condition_settles_through_as_many_steps_as_a_chain_needs() -> None:
    net = chain(300)
    everything = {f"k{i}" for i in range(300)}
    assert after(net).chatter == ()
    assert closed(after(net)) == everything
    assert closed(after(net, "b149")) == {f"k{i}" for i in range(149)}
    assert closed(after(net, "gen")) == set()


def test_a_long_chain_is_not_taken_for_chatter(monkeypatch: pytest.MonkeyPatch) -> None:
    # What stands still has settled, even if it moved since the state that cycles are looked for by.
    monkeypatch.setattr(steady_state, "LONGEST_CYCLE", 16)
    net = network(chain(25))
    assert chattering(net) == []
    assert len(closed(after(net))) == 25


def test_states_are_updated_all_at_once_so_a_race_is_won_by_the_shorter_chain() -> None:
    # Whoever closes first keeps the other out: `slow` waits for a relay, `fast` does not.
    net = """
    sources: {gen: 28}
    buses: [main]
    devices:
      pilot: {kind: relay, closes-when: {live: [gen]}}
      fast: {kind: contactor, closes-when: {live: [gen], open: [slow]}}
      slow: {kind: contactor, closes-when: {closed: [pilot], open: [fast]}}
    feeders: [gen > fast > main]
    """
    assert closed(after(net)) == {"pilot", "fast"}
    assert closed(after(net, "fast:open")) == {"pilot", "slow"}


def test_a_failure_does_not_run_a_race_again_that_the_condition_has_settled() -> None:
    net = """
    sources: {left: 28, right: 28}
    buses: [main]
    devices:
      k-left: {kind: contactor, closes-when: {live: [left], open: [k-right]}}
      pilot: {kind: relay, closes-when: {live: [right]}}
      k-right: {kind: contactor, closes-when: {closed: [pilot], open: [k-left]}}
    feeders: [left > k-left > main, right > k-right > main]
    conditions:
      left-first: {sources: [left, right]}
      right-held: {sources: [left, right], held-closed: [k-right, pilot]}
    """
    assert closed(after(net, "left", condition="left-first")) == {"pilot", "k-right"}
    assert closed(after(net, condition="right-held")) == {"pilot", "k-right"}
    assert closed(after(net, "pilot", condition="right-held")) == {"k-left"}


# When they do not settle

BUZZER = """
sources: {gen: 28, apu: 28}
buses: [main, other]
devices:
  k: {kind: relay, closes-when: {dead: [main]}}
  other-side: {kind: relay, closes-when: {live: [other]}}
  apart: {kind: relay, closes-when: {live: [gen]}}
feeders: [gen > k > main, apu > apart > other]
equipment: {radio: main}
"""


def test_a_chattering_contactor_is_reported_and_counts_as_open() -> None:
    loss = after(BUZZER)
    assert loss.chatter == ("k",)
    assert "k" not in closed(loss)
    assert loss.not_powered == ("radio",)


def test_the_rest_settles_around_a_chattering_contactor() -> None:
    assert closed(after(BUZZER)) == {"other-side", "apart"}
    assert closed(after(BUZZER, "gen")) == {"k"}


def test_a_contactor_that_sticks_or_fails_open_chatters_no_more() -> None:
    stuck = after(BUZZER, "k:stuck-closed")
    assert stuck.chatter == ()
    assert closed(stuck) == {"k", "other-side", "apart"}
    assert after(BUZZER, "k:open").chatter == ()


def test_a_failure_that_starts_a_chatter_says_so() -> None:
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [main]
    devices: {k: {kind: relay, closes-when: {dead: [main]}}}
    feeders: [gen > main, bat > k > main]
    """
    assert after(net).chatter == ()
    loss = after(net, "gen")
    assert loss.chatter == ("k",)
    assert live(loss) == {"bat"}


def test_a_contactor_that_only_follows_a_chattering_one_chatters_with_it() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    devices:
      k: {kind: relay, closes-when: {dead: [main]}}
      follows: {kind: relay, closes-when: {closed: [k]}}
      opposes: {kind: relay, closes-when: {open: [k]}}
    feeders: [gen > k > main]
    """
    loss = after(net)
    assert loss.chatter == ("follows", "k", "opposes")
    assert closed(loss) == set()


def test_chatter_that_needs_a_start_is_over_when_the_failure_starts_from_the_settled_state() -> (
    None
):
    # The ring turns only because the condition holds a contactor closed; settled, all are open.
    net = network(rings(3))
    assert chattering(net) == [("flight", "r3-0"), ("flight", "r3-1"), ("flight", "r3-2")]
    assert after(net, "gen").chatter == ()
    assert after(net, "r3-1:stuck-closed").chatter == ()
    assert closed(after(net, "r3-1:stuck-closed")) == {"r3-0", "r3-1", "r3-2"}


def test_interlocked_contactors_that_close_at_the_same_moment_chatter() -> None:
    net = """
    sources: {gen: 28}
    devices:
      left: {kind: contactor, closes-when: {live: [gen], open: [right]}}
      right: {kind: contactor, closes-when: {live: [gen], open: [left]}}
    """
    assert after(net).chatter == ("left", "right")
    assert after(net, "left:open").chatter == ()
    assert closed(after(net, "left:open")) == {"right"}


def test_the_rest_settles_again_from_where_the_round_began() -> None:
    # `latch` is in before anything fails, and drops out in every other step of the chatter; with
    # the chatterer open it has no reason to drop out, wherever in the cycle one looks.
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [main]
    devices:
      k: {kind: relay, closes-when: {dead: [gen], open: [k]}}
      latch: {kind: relay, closes-when: {closed: [latch], open: [k]}}
    conditions: {flight: {sources: [gen, bat], held-closed: [latch]}}
    """
    assert closed(after(net)) == {"latch"}
    loss = after(net, "gen")
    assert loss.chatter == ("k",)
    assert closed(loss) == {"latch"}


def rings(*lengths: int) -> str:
    """Ring counters: one closed contactor of each ring hands on to the next, for ever."""
    devices = "\n".join(
        f"  r{n}-{i}: {{kind: relay, closes-when: {{closed: [r{n}-{(i - 1) % n}]}}}}"
        for n in lengths
        for i in range(n)
    )
    held = ", ".join(f"r{n}-0" for n in lengths)
    return (
        f"sources: {{gen: 28}}\ndevices:\n{devices}\n"
        "conditions:\n  rest: {sources: [gen]}\n"
        f"  flight: {{sources: [gen], held-closed: [{held}]}}"
    )


@pytest.mark.parametrize(
    "lengths", [(2,), (3,), (7,), (64,), (3, 4), (3, 5, 7), (2, 3, 5, 7, 11), (31, 37, 41)]
)
def test_ring_counters_of_any_length_chatter_as_a_whole(lengths: tuple[int, ...]) -> None:
    # The last two repeat only after 2,310 and 47,027 steps.
    net = network(rings(*lengths))
    assert {device for _, device in chattering(net)} == set(net.switching)
    assert len(net.switching) == sum(lengths)
    assert closed(after(net)) == set()


@pytest.mark.parametrize("lengths", [(5,), (3, 5, 7)])
def test_ring_counters_at_rest_stay_at_rest(lengths: tuple[int, ...]) -> None:
    assert {condition for condition, _ in chattering(network(rings(*lengths)))} == {"flight"}
    assert after(rings(*lengths), condition="rest").chatter == ()


def test_a_ring_that_is_broken_comes_to_rest() -> None:
    broken = rings(7).replace("closed: [r7-3]", "closed: [r7-3], live: [nothing]")
    net = network(broken.replace("devices:", "buses: [nothing]\ndevices:"))
    assert chattering(net) == []
    assert closed(after(net)) == set()


def test_a_chain_behind_a_chattering_contactor_settles_open() -> None:
    net = """
    sources: {gen: 28}
    buses: [a, b, c]
    devices:
      k: {kind: relay, closes-when: {dead: [a]}}
      k-b: {kind: relay, closes-when: {live: [a]}}
      k-c: {kind: relay, closes-when: {live: [b]}}
    feeders: [gen > k > a, a > k-b > b, b > k-c > c]
    """
    loss = after(net)
    assert closed(loss) == set()
    assert "k" in loss.chatter


def test_a_switch_that_stands_in_a_feeder_stands_as_it_is_set_from_the_start() -> None:
    # A contactor that closes only on a dead bus would close at once if the switch came later.
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [main, standby]
    devices:
      sw: {kind: switch, closes-when: {switches: {master: "on"}}}
      k: {kind: relay, closes-when: [{dead: [main]}, {closed: [k]}]}
    switches: {master: ["on", "off"]}
    feeders: [gen > sw > main, bat > k > standby]
    """
    assert closed(after(net)) == {"sw"}
    assert closed(after(net, "sw")) == {"k"}


def chain(length: int) -> str:
    """Contactors that each close on the bus before."""
    devices = "\n".join(
        f"  k{i}: {{kind: contactor, closes-when: {{live: [b{i}]}}}}" for i in range(length)
    )
    return (
        f"sources: {{gen: 28}}\nbuses: [{', '.join(f'b{i}' for i in range(length + 1))}]\n"
        f"devices:\n{devices}\n"
        f"feeders: [gen > b0, {', '.join(f'b{i} > k{i} > b{i + 1}' for i in range(length))}]"
    )
