"""A process that writes to a store, for tests that run several of them or kill one.

python -m tests.library.writer STORE FIRST COUNT [together]
"""

from __future__ import annotations

import sys
from pathlib import Path

from synth.library import Store
from synth.questions.box import BoxAnswer, BoxQuestion
from tests.library.answers import best_so_far, found, question


def write(path: Path, first: int, count: int) -> None:
    """For each delay from ``first`` on: one transaction of a layout and a box ruled out."""
    with Store(path) as store:
        for delay in range(first, first + count):
            asked = question(delay=delay % 60)
            with store.writing():
                store.keep_answer(asked, found(6 + delay % 60, parts=3))
                store.rule_out(asked, [BoxAnswer(BoxQuestion((1, 1, 1), delay), None)])
            # All processes write of this one, too; what is known of it must add up.
            shared = question(delay=63, length=64)
            store.keep_answer(shared, best_so_far(64 - delay % 30, delay % 30))
            print(delay, flush=True)


if __name__ == "__main__":
    write(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
