"""What threads keep for a batch: one each, ended with the batch."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest

from synth.search.workers.batches import KeptByThreads
from synth.search.workers.crew import Stopped


class Thing:
    """Something to keep."""

    def __init__(self) -> None:
        self.closed = False

    def close(self) -> None:
        self.closed = True


def test_each_thread_keeps_one_for_each_batch() -> None:
    kept = KeptByThreads(Thing)
    both = Barrier(2)

    def twice(batch: str) -> tuple[Thing, Thing]:
        both.wait()  # So that each of the two has a thread of its own.
        return kept.own(batch), kept.own(batch)

    with ThreadPoolExecutor(2) as pool:
        (one, again), (other, once_more) = pool.map(twice, ["a", "a"])
    assert one is again
    assert other is once_more
    assert one is not other
    assert set(kept.of("a")) == {one, other}
    assert kept.of("b") == []
    assert kept.own("b") is not kept.own("a")


def test_a_batch_that_is_dismissed_is_over() -> None:
    kept = KeptByThreads(Thing)
    first, second = kept.own("a"), kept.own("b")
    kept.dismiss("a")
    assert (first.closed, second.closed) == (True, False)
    assert kept.of("a") == []
    with pytest.raises(Stopped):
        kept.own("a")
    assert kept.own("b") is second
