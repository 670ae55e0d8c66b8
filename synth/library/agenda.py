"""What a build asks next of a chain, and the job that it makes of that.

A round gives every open question of a chain its share of time, and after that as much again to what
lies beyond the limits of space of those that are open and have no layout.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from synth.library.canonical import Canonical
from synth.library.chains import Chain, tried_before
from synth.library.jobs import Job
from synth.library.kept_answers import KeptAnswers
from synth.search.workers.settings import Settings


@dataclass
class Agenda:
    """What is still to be asked.

    Attributes:
        kept: what the store and the build know.
        shares: seconds of a question in each round.
        settings: how jobs search.
        batch: the name of the batch of jobs.
        fewest_parts: whether the parts of the smallest layout are brought down as well.
        only_beyond: whether nothing is asked, and only layouts beyond the limits are sought.
        done: the keys of the questions that are answered.
    """

    kept: KeptAnswers
    shares: Sequence[float]
    settings: Settings
    batch: str
    fewest_parts: bool
    only_beyond: bool = False
    done: set[str] = field(default_factory=set)

    def next(self, chain: Chain) -> tuple[Canonical, Callable[[Chain, Canonical], Job]] | None:
        """What a chain asks next in this round, and how its job is made: questions come first, then
        what lies beyond. A job is made only once it is given out: to find its starts takes time.
        """
        asked = self._question(chain)
        if asked is not None:
            return asked, self._job
        asked = self._beyond(chain)
        return None if asked is None else (asked, self._job_beyond)

    def _question(self, chain: Chain) -> Canonical | None:
        """The next question of a chain that is open and has not had this share yet."""
        while chain.next < len(chain.questions) and not self.only_beyond:
            asked = chain.questions[chain.next]
            if asked.key not in chain.left and self._is_due(asked, chain.round):
                return asked
            chain.next += 1
        return None

    def _beyond(self, chain: Chain) -> Canonical | None:
        """The next question without a layout beyond whose limits this share was not spent yet."""
        if "above" in self.settings.without:
            return None
        while chain.next_beyond < len(chain.questions):
            asked = chain.questions[chain.next_beyond]
            if asked.key not in chain.left and self.kept.lacks_layout_still(asked, chain):
                spent_s = self.kept.beyond(asked).seconds
                if spent_s <= tried_before(self.shares, chain.round):
                    return asked
            chain.next_beyond += 1
        return None

    def _job_beyond(self, chain: Chain, asked: Canonical) -> Job:
        known = self.kept.beyond(asked)
        best = () if known.layout is None else (known.layout,)
        return Job(
            asked,
            chain.name,
            self.shares[chain.round],
            # Later rounds try other moves.
            settings=replace(self.settings, seed=self.settings.seed + chain.round),
            batch=self.batch,
            beyond=True,
            starts=(*best, *self.kept.starts(asked), *self.kept.slower(asked, chain)),
        )

    def _job(self, chain: Chain, asked: Canonical) -> Job:
        return Job(
            asked,
            chain.name,
            self.shares[chain.round],
            self.kept.known(asked, chain),
            self.settings,
            self.batch,
            self.fewest_parts,
        )

    def _is_due(self, asked: Canonical, number: int) -> bool:
        """Whether a question is open and has not had the share of a round."""
        answer = self.kept.store.answer(asked.key)
        if answer is None:
            return True
        if answer.proven:
            self.done.add(asked.key)
            return False
        return answer.seconds <= tried_before(self.shares, number)
