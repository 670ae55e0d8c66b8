"""What the machine tells of itself."""

from __future__ import annotations

import os
import sys

import pytest

from synth.machine import processor_seconds_of
from tests.waiting import wait_until


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="other systems do not tell")
def test_a_process_that_works_has_more_and_more_of_a_processor() -> None:
    before = processor_seconds_of(os.getpid())
    assert before is not None

    def has_had_more() -> bool:
        now = processor_seconds_of(os.getpid())
        assert now is not None
        assert now >= before
        return sum(range(100_000)) > 0 and now > before

    wait_until(has_had_more, "the processor's time stands still")


def test_of_a_process_that_is_not_there_nothing_is_told() -> None:
    assert processor_seconds_of(2**30) is None
