"""Several starts in turn: what is told is right, and the worst start does not hold up the best."""

from __future__ import annotations

from synth.layout import Layout
from synth.shrinking import own_spec
from synth.shrinking.aim import Judged
from synth.shrinking.relay import Relay
from synth.shrinking.turns import MOST_STARTS
from synth.simulator import check
from synth.spec import Limits
from tests.shrinking.layouts import NOT, XOR

SPEC = own_spec(XOR)


def relayed(relay: Relay, starts: list[Layout], turns: int) -> None:
    """Some turns of a relay, all starts added between the first two."""
    left = [turns]
    relay.turn = 1_500

    def arrivals() -> list[Layout]:
        left[0] -= 1
        if not left[0]:
            relay.deadline = 0.0
            for runner in relay.loops:
                runner.deadline = 0.0
        return starts if left[0] == turns - 1 else []

    relay.run(arrivals)


def test_every_start_is_shrunk_and_what_is_told_is_right() -> None:
    told: list[Judged] = []
    relay = Relay(SPEC, ("volume",), told.append)
    tall = XOR.replace(size=(XOR.length, XOR.width, XOR.height + 3))
    taller = XOR.replace(size=(XOR.length, XOR.width, XOR.height + 4))
    assert relay.add(tall)
    assert not relay.add(tall), "it is there already"
    relayed(relay, [taller], 3)
    assert all(check(judged.layout, SPEC, delay=2).passes for judged in told)
    assert {tall.size, taller.size} <= {judged.layout.size for judged in told}
    assert min(judged.layout.volume for judged in told) <= XOR.volume
    assert len(relay.loops) == 2


def test_what_is_not_right_is_no_start_and_only_some_are_kept() -> None:
    relay = Relay(SPEC, ("volume",), lambda judged: None)
    assert not relay.add(NOT)
    for more in range(MOST_STARTS + 2):
        relay.add(XOR.replace(size=(XOR.length, XOR.width, XOR.height + more)))
    assert len(relay.loops) == MOST_STARTS
    assert min(loop.best.layout.height for loop in relay.loops) == XOR.height


def test_a_start_has_a_turn_before_it_is_left() -> None:
    relay = Relay(SPEC, ("volume",), lambda judged: None)
    for more in range(MOST_STARTS):
        relay.add(XOR.replace(size=(XOR.length, XOR.width, XOR.height + more)))
    for runner in relay._runners:
        runner.turns = 1
    large = XOR.replace(size=(XOR.length, XOR.width, XOR.height + MOST_STARTS))
    assert relay.add(large)
    heights = sorted(loop.best.layout.height - XOR.height for loop in relay.loops)
    assert heights == [*range(MOST_STARTS - 1), MOST_STARTS]


def test_a_slow_start_may_be_slow_until_it_meets_the_delay() -> None:
    quick = SPEC.replace(limits=Limits(delay=1))
    relay = Relay(quick, ("volume",), lambda judged: None)
    assert relay.add(XOR)
    (loop,) = relay.loops
    assert loop.aim.delay == 2
    relayed(relay, [], 2)
    (loop,) = relay.loops
    assert loop.best.verdict.delay == 2
