"""The store: every answer ever found, in one SQLite file that survives kills and can be shared.

What a store knows about a question never becomes less: a proven answer stays, a better layout
replaces a worse one, bounds rise, seconds add up.
"""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

from synth.errors import InputError
from synth.fields import shown
from synth.layout import Layout
from synth.layout.documents import parse_json
from synth.library.answer import Answer, Contradiction, better_of
from synth.library.beyond import Beyond, BeyondLimits, verdict_beyond
from synth.library.boxes import BoxesRuledOut
from synth.library.canonical import Canonical, Naming
from synth.library.columns import LAYOUTS, require_row
from synth.library.entry import Entry
from synth.library.holders import Holding
from synth.library.remarks import Remarks
from synth.library.rows import row_of
from synth.library.words import expressions
from synth.printable import cleaned, is_printable
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.candidates import assumed_limits
from synth.questions.measures import keeps
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.questions.statistics import Statistics
from synth.simulator import check
from synth.simulator.verdict import Verdict
from synth.spec import Spec
from synth.words import counted

_ANSWER = ("number", "status", "proven", "delay", "bound", "claim", "proof")
_MADE = ("solver", "seed", "seconds", "version", "made")


class Store(BeyondLimits, BoxesRuledOut, Remarks, Holding):
    """An open store; a context manager. See ``synth.library.file`` for how it is opened."""

    def recall(self, problem: Problem) -> Outcome | None:
        """The decided answer to a question, with its names; see ``synth.questions.memory``.

        Raises:
            InputError: if the stored layout does not do what was asked.
        """
        asked, naming = Canonical.of(problem)
        answer = self.answer(asked.key)
        if answer is None or not answer.proven:
            return None
        return self.outcome(problem, naming, answer)

    def known(self, problem: Problem) -> Outcome | None:
        """Everything known about a question, decided or not; None if nothing is."""
        asked, naming = Canonical.of(problem)
        answer = self.answer(asked.key)
        if answer is None:
            return None
        return self.outcome(problem, naming, answer.within(asked.spec.limits))

    def outcome(self, problem: Problem, naming: Naming, answer: Answer) -> Outcome:
        """A stored answer as a search would return it, its layout judged anew.

        In its statistics ``seconds`` is the time spent on it so far; nothing is searched now.
        """
        layout, verdict = answer.layout, None
        if layout is not None:
            if {pin.name for pin in layout.pins} != set(naming.asked):
                raise self._not_passing(problem.spec, "has other pins than were asked")
            # Rows do not hold what a layout was made for: the question says it, in any names.
            layout = naming.to_asked(layout)
            verdict = self._judged(layout, problem)
            layout = layout.replace(made_for=problem.made_for(verdict.delay))
        found = answer.status is Status.FOUND
        return Outcome(
            answer.status,
            layout,
            verdict,
            reason="" if found else answer.claim,
            claim=answer.claim if found else "",
            assumed=assumed_limits(problem.limits)[1],
            stats=Statistics(
                bound=answer.bound,
                seconds=answer.seconds,
                solver=answer.solver,
                seed=answer.seed,
            ),
            measures=problem.measures,
        )

    def _judged(self, layout: Layout, problem: Problem) -> Verdict:
        """The simulator's verdict on a stored layout, which must pass."""
        spec = problem.spec
        try:
            verdict = check(layout, spec, delay=spec.limits.delay, rules=problem.rules)
        except InputError as error:
            raise self._not_passing(spec, f"cannot be played: {error.problem}") from None
        if not verdict.passes:
            faults = "; ".join(fault.text for fault in verdict.faults)
            raise self._not_passing(spec, f"does not pass the simulator: {faults}")
        return verdict

    def _not_passing(self, spec: Spec, why: str) -> InputError:
        return InputError(
            f"a layout kept for {'; '.join(expressions(spec.function))} {why}",
            file=str(self.path),
            way_out="run 'gatefit library verify' to find all such, and build them again",
        )

    def keep(
        self,
        problem: Problem,
        outcome: Outcome,
        *,
        name: str = "",
        proof: str | None = None,
    ) -> bool:
        """Store the outcome of a search; see ``synth.questions.memory``.

        A layout beyond limits that were assumed is no answer to the question: it is kept beside it
        (``synth.library.beyond``), or, if it is slower, as an answer to the slower question.

        Args:
            problem: what was asked.
            outcome: the outcome; a refused one is not stored.
            name: a name for the function; empty takes the specification's own.
            proof: what the claim rests on, such as a certificate; None means the solver.

        Returns:
            Whether the store knows more than before.

        Raises:
            InputError: if the answer contradicts a decided one in the store.
        """
        if outcome.status is Status.REFUSED:
            return False
        asked, naming = Canonical.of(problem)
        answer = Answer.of(outcome, naming, proof)
        with self.writing():
            # The boxes that the answer rests on are stored with it.
            self.rule_out(asked, boxes_of(outcome))
            called = name or problem.spec.name or ""
            better = self.keep_answer(asked, answer.within(asked.spec.limits), called)
            return self._keep_wide(asked, answer, called) or better

    def _keep_wide(self, asked: Canonical, answer: Answer, name: str) -> bool:
        """Keep the layout of an answer that does not keep the limits of the question."""
        limits = asked.spec.limits
        layout, delay, most = answer.layout, answer.delay, limits.delay
        if layout is None or delay is None or keeps(layout, delay, limits):
            return False
        better = False
        if most is not None and delay > most:
            asked = Canonical(asked.problem.under(replace(limits, delay=delay)))
            claim = f"found by a search within {counted(most, 'tick')}; nothing was ruled out here"
            slower = replace(answer, bound=None, claim=claim, seconds=0.0)
            better = self.keep_answer(asked, slower.within(asked.spec.limits), name)
        if keeps(layout, delay, asked.spec.limits) or not verdict_beyond(asked, layout).passes:
            return better
        return self.keep_beyond(asked, Beyond(layout, delay)) or better

    def keep_answer(self, asked: Canonical, answer: Answer, name: str = "") -> bool:
        """``keep`` for an answer in canonical form.

        Raises:
            InputError: as for ``keep``, or if the name is not one line of text.
        """
        if not is_printable(name):
            raise InputError(
                f"{shown(name)} has characters that cannot be shown",
                place="name",
                way_out="use one line of printable text",
            )
        with self.writing():
            before = self.answer(asked.key)
            if before is not None and not before.proven:
                # Earlier versions kept layouts beyond limits that were assumed as answers.
                before = before.within(asked.spec.limits)
            try:
                after = answer if before is None else better_of(before, answer, asked.minimize)
            except Contradiction as error:
                raise InputError(
                    f"{error} for {asked.key[:12]}",
                    file=str(self.path),
                    way_out="one of the two is wrong: please report it with both stores",
                ) from None
            if after == before:
                return False
            self._write(asked, after, name)
        return True

    def answer(self, key: str) -> Answer | None:
        """The answer stored under a key, in canonical form; its layout is not judged.

        Raises:
            InputError: if it cannot be read.
        """
        rows = self.select(
            f"SELECT {', '.join((*_ANSWER, *_MADE))}, layout"
            " FROM results LEFT JOIN layouts USING (number) WHERE key = ?",
            (key,),
        )
        if not rows:
            return None
        *values, text = rows[0]
        number, file = values[0], str(self.path)
        require_row("results", (*_ANSWER, *_MADE), values, file=file, number=number)
        layout = None
        if text is not None:
            require_row("layouts", tuple(LAYOUTS), (number, text), file=file, number=number)
            with self.reading("layouts", number, "layout"):
                layout = Layout.from_document(parse_json(text))
        clean: list[Any] = [cleaned(item) if isinstance(item, str) else item for item in values]
        _, status, proven, *rest = clean
        return Answer(Status(status), bool(proven), layout, *rest)

    def answered(self, number: int) -> tuple[Entry, Canonical, Answer]:
        """Everything stored about an entry.

        Raises:
            InputError: if no entry has that number, or it cannot be read.
        """
        entry, asked = self.entry(number), self.asked(number)
        answer = self.answer(entry.key)
        if answer is None:
            raise InputError(
                f"entry {number} is not found by its key: the file is damaged",
                file=str(self.path),
                way_out="use an earlier copy of it",
            )
        return entry, asked, answer

    def spent(self, key: str, seconds: float) -> None:
        """Set the time spent on a question, in seconds."""
        with self.writing():
            self.connection.execute("UPDATE results SET seconds = ? WHERE key = ?", (seconds, key))

    def _write(self, asked: Canonical, answer: Answer, name: str) -> None:
        values = row_of(asked, answer)
        columns = ", ".join(f'"{column}"' for column in values)
        marks = ", ".join("?" * len(values))
        updates = ", ".join(f'"{column}" = excluded."{column}"' for column in values)
        (number,) = self.connection.execute(
            f"INSERT INTO results ({columns}) VALUES ({marks})"
            f" ON CONFLICT (key) DO UPDATE SET {updates} RETURNING number",
            list(values.values()),
        ).fetchone()
        if name:
            self.connection.execute(
                "UPDATE results SET name = ? WHERE number = ? AND name = ''", (name, number)
            )
        if answer.layout is None:
            self.connection.execute("DELETE FROM layouts WHERE number = ?", (number,))
            return
        # A layout within the limits answers the question; one beyond them has no use then.
        self.drop_beyond(number)
        text = json.dumps(answer.layout.document(), separators=(",", ":"))
        self.connection.execute("INSERT OR REPLACE INTO layouts VALUES (?, ?)", (number, text))

    def layout(self, number: int) -> Layout:
        """The layout of an entry, in canonical names, judged anew by the simulator.

        Raises:
            InputError: if there is no such entry, it has no layout, or the layout does not do
                what was asked.
        """
        entry = self.entry(number)
        answer = self.answer(entry.key)
        if answer is None or answer.layout is None:
            raise InputError(
                f"entry {number} has no layout: {entry.status}",
                file=str(self.path),
                way_out="'gatefit library list --status found' shows those that have",
            )
        asked = self.asked(number)
        verdict = self._judged(answer.layout, asked.problem)
        return answer.layout.replace(made_for=asked.problem.made_for(verdict.delay))


def boxes_of(outcome: Outcome) -> list[BoxAnswer]:
    """The boxes that a search ruled out, whole or cube by cube."""
    return [
        BoxAnswer(BoxQuestion((length, width, height), delay), None)
        for length, width, height, delay in outcome.stats.boxes_ruled_out
    ]
