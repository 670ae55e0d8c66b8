"""What is said about a search when it is over: claims with everything they rest on."""

from __future__ import annotations

from synth.layout.pins import show_size
from synth.questions.box import BoxQuestion
from synth.questions.cover import Claim, needs
from synth.questions.in_force import limits_text, medium_text
from synth.questions.measures import known_measures, measured
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from synth.questions.statistics import Statistics
from synth.search.walk.ledger import Ledger
from synth.search.walk.questioner import Questioner
from synth.search.workers.judged import Found
from synth.search.workers.settings import Settings
from synth.simulator.verdict import Verdict
from synth.words import counted, ticks


def statistics(questioner: Questioner, candidates: list[BoxQuestion], seconds: float) -> Statistics:
    """The counts of a search, and the seconds that it took."""
    ledger, settings = questioner.ledger, questioner.settings
    most = ledger.problem.limits.parts
    ruled_out = (asked for asked in ledger.ruled_out if asked.parts == most)
    return Statistics(
        questions=questioner.questions,
        boxes_ruled_out=tuple(sorted((*size, delay) for size, delay, _ in ruled_out)),
        boxes_open=tuple(sorted((*size, delay) for size, delay, _ in ledger.open)),
        variables=questioner.largest.variables,
        clauses=questioner.largest.clauses,
        clauses_by_rule=dict(questioner.largest.rules),
        bound=ledger.bound(candidates),
        solve_seconds=questioner.solve_seconds,
        seconds=seconds,
        solver=settings.solver,
        seed=settings.seed,
    )


class Claims:
    """Words for what a search found and showed.

    Args:
        ledger: what is known.
        settings: how it was searched.
        candidates: every question within the limits, in the order of the measures.
    """

    def __init__(self, ledger: Ledger, settings: Settings, candidates: list[BoxQuestion]) -> None:
        self.ledger = ledger
        self.settings = settings
        self.candidates = candidates

    @property
    def problem(self) -> Problem:
        """What was asked."""
        return self.ledger.problem

    def hold_for(self, best: Found | None) -> bool:
        """Whether there is a layout and everything better is ruled out.

        Then it is the smallest by the measures, whatever is open: boxes that are no better.
        """
        needed = None if best is None else self._needed(best)
        return needed is not None and all(self.ledger.known(need) is False for need in needed)

    def _needed(self, best: Found) -> list[BoxQuestion] | None:
        """What must have no layout if none is better; None if a measure of it is not known."""
        values = known_measures(best.layout, best.verdict.delay, self.measures)
        if len(values) < len(self.measures):
            return None
        return needs(Claim(Status.FOUND, self.problem, values))

    @property
    def measures(self) -> tuple[str, ...]:
        """What is to be small; the first counts most."""
        return self.problem.measures

    def smallest(self, best: Found) -> str:
        """The claim about a layout found: measure, limits, medium, and what it rests on."""
        measures = self.measures
        if len(self.candidates) == 1 and measures == ("volume",):
            return (
                f"a layout in the one box and delay asked for, under {limits_text(self.problem)}; "
                f"{medium_text(self.problem)}"
            )
        values = ", then ".join(
            f"{name} {measured(best.layout, best.verdict.delay, name)}" for name in measures
        )
        used = len(self.ledger.used)
        if self.ledger.open:
            needed = self._needed(best) or ()
            used = sum(self.ledger.ruled_out_by(need) is not None for need in needed)
        shown = self._shown(used)
        return f"smallest by {values}, {self._under(shown)}"

    def impossible(self) -> str:
        """The sentence that says that there is no layout."""
        shown = self._shown(len(self.ledger.used))
        return f"no layout {self._under(shown)}"

    def progress(self) -> str:
        """What is known about an undecided search: the bound, the best so far, what is open."""
        text = f"{self._bound()}; {medium_text(self.problem)}"
        if not self.ledger.open:
            return text
        listed = sorted(self.ledger.open.items(), key=lambda item: (item[0].size, item[0].delay))
        undecided = "; ".join(
            f"{show_size(size)} within {ticks(delay)} ({reason})"
            for (size, delay, _), reason in listed
        )
        return f"{text}; open: {undecided}"

    def _bound(self) -> str:
        """The best value of the first measure that is not ruled out."""
        measure, shown = self.problem.measures[0], self._shown(len(self.ledger.ruled_out))
        lowest = self.ledger.bound(self.candidates)
        under = f"under {limits_text(self.problem)}"
        if lowest is None:
            return f"{shown}, {under}"
        best = self.ledger.best()
        value = None if best is None else measured(best.layout, best.verdict.delay, measure)
        so_far = "" if value is None else f", best so far {value}"
        return f"no layout of {measure} below {lowest}{so_far}, {under}: {shown}"

    def _under(self, shown: str) -> str:
        """What every claim names: the limits, what it rests on, and the medium."""
        return f"under {limits_text(self.problem)}: {shown}; {medium_text(self.problem)}"

    def _shown(self, count: int) -> str:
        """How many answers a sentence rests on."""
        kept = "no proof kept" if self.settings.evidence is None else "proofs in the certificate"
        questions = counted(count, "question")
        return f"{questions} ruled out by {self.settings.solver} ({kept})"


def refusal(verdict: Verdict) -> str:
    """The sentence that the simulator rejects a layout, and why."""
    faults = "; ".join(fault.text for fault in verdict.faults)
    return f"the simulator rejects the layout that the solver found: {faults}"
