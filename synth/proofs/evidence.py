"""The evidence of one "no layout": the formula, what its variables mean, and the proof.

The worker that solved the question writes them, so that nothing has to be kept in memory or sent.
Formula and proof are DIMACS CNF and DRAT with one clause on each line, as external checkers read
them. All three files are compressed (RFC 1952, from memory) without a time stamp, so that the same
question gives the same bytes.
"""

from __future__ import annotations

import gzip
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from itertools import islice
from pathlib import Path

from synth.encoding import Encoding, Question
from synth.encoding.geometry import Slot
from synth.errors import OutputError, reason_of
from synth.questions.cubes import Cube

FORMULA, MAP, PROOF = ".cnf.gz", ".map.gz", ".drat.gz"
SUFFIXES = (FORMULA, MAP, PROOF)

EMPTY_CLAUSE = "0"
"""The last line of a proof: the empty clause."""

_LEVEL = 4
"""The level of compression: a tenth more bytes than level 6, in a fifth of its time (measured)."""
_LINES_AT_ONCE = 1 << 16

_MAP_HEAD = """\
What the variables of the formula mean. A model is a layout: a cell holds the part whose variable
is true, a pin sits where its variable says. 'surely' and 'possibly' are the two rails of
three-valued settling (medium, section 5). Their first number is the play: the input assignments in
counting order, the first input the most significant, then in a stack the neighbour; of tick 0 then
what is unknown, and each input alone. Their last number is the tick. What else there is serves the
rules; see synth/encoding of gatefit.
"""

OPTIONS = {item.name: item.default for item in fields(Question) if isinstance(item.default, bool)}
"""What a question leaves open of its formula, with what holds where nothing is said.

None of it changes what is asked: a formula without a model says that there is no layout.
"""


@dataclass(frozen=True)
class Evidence:
    """The evidence of one question, as it was written.

    Attributes:
        stem: the name of its files, without suffix.
        variables, clauses: the size of the formula.
        options: those of ``OPTIONS`` that are not as if nothing were said.
    """

    stem: str
    variables: int
    clauses: int
    options: Mapping[str, bool]


def stem_of(question: Question, cube: Cube | None = None) -> str:
    """The name of the files of a question or cube, without suffix: ``2x2x3-delay2``."""
    most = "" if question.parts is None else f"-parts{question.parts}"
    part = "" if cube is None else cube.suffix
    return "x".join(map(str, question.size)) + f"-delay{question.delay}{most}{part}"


def formula_text(encoding: Encoding) -> bytes:
    """The formula as DIMACS CNF."""
    return dimacs(encoding.variable_count, encoding.clauses)


def dimacs(variable_count: int, clauses: Sequence[Sequence[int]]) -> bytes:
    """Clauses as DIMACS CNF."""
    head = f"p cnf {variable_count} {len(clauses)}\n"
    lines = (" ".join(map(str, [*clause, 0])) for clause in clauses)
    return (head + "\n".join(lines) + "\n").encode("ascii")


def map_text(encoding: Encoding) -> bytes:
    """The meaning of each variable, and the number of clauses that each rule added."""
    lines = [_MAP_HEAD, "Clauses by rule"]
    lines += [f"{count:>9}  {rule}" for rule, count in encoding.clauses_by_rule.items()]
    lines += ["", "Variables"]
    for number in range(1, encoding.variable_count + 1):
        lines.append(f"{number:>9}  {_meaning(encoding.formula.name(number))}")
    return ("\n".join(lines) + "\n").encode("utf-8")


def _meaning(key: tuple[object, ...]) -> str:
    return " ".join(map(_word, key))


def _word(value: object) -> str:
    if isinstance(value, Slot):
        return f"{_word(value.cell)} {value.face}"
    if isinstance(value, tuple):
        return str(list(value)).replace(" ", "")
    return str(value)


def write_evidence(
    folder: str | Path,
    encoding: Encoding,
    proof: Iterable[str],
    renaming: Sequence[int] | None = None,
    cube: Cube | None = None,
) -> Evidence:
    """Write the three files of a question; each appears whole or not at all.

    Args:
        folder: an existing folder to write to.
        encoding: the formula in its natural order.
        proof: the lines of the proof as the solver gave them.
        renaming: the number that the solver used for each variable; None if it used the formula's
            own. The proof is written with the formula's numbers, and stays a proof.
        cube: the cube of the formula; None for the whole question.

    Returns:
        What was written.

    Raises:
        InputError: if they cannot be written.
    """
    stem = stem_of(encoding.question, cube)
    lines = proof if renaming is None else _renamed(proof, renaming)
    try:
        _write(Path(folder, stem + FORMULA), [formula_text(encoding)])
        _write(Path(folder, stem + MAP), [map_text(encoding)])
        _write(Path(folder, stem + PROOF), _blocks(to_the_empty_clause(lines)))
    except OSError as error:
        # Not an OSError, because a crew takes that as the loss of the worker.
        raise OutputError(
            f"the certificate cannot be written ({reason_of(error)})",
            file=str(folder),
            way_out="make room, or name another folder",
        ) from None
    chosen = {name: getattr(encoding.question, name) for name in OPTIONS}
    return Evidence(
        stem,
        encoding.variable_count,
        len(encoding.clauses),
        {name: value for name, value in chosen.items() if value != OPTIONS[name]},
    )


def to_the_empty_clause(lines: Iterable[str]) -> Iterator[str]:
    """The lines of a proof up to the empty clause, which ends it.

    Lines after it, with which solvers tidy up, prove nothing. Some solvers leave the empty clause
    out where propagation alone refutes a formula; it is then added, and the checker decides.
    """
    for line in lines:
        if line.strip() == EMPTY_CLAUSE:
            break
        yield line
    yield EMPTY_CLAUSE


def _blocks(lines: Iterable[str]) -> Iterator[bytes]:
    remaining = iter(lines)
    while block := list(islice(remaining, _LINES_AT_ONCE)):
        yield ("\n".join(block) + "\n").encode("ascii")


def _renamed(lines: Iterable[str], renaming: Sequence[int]) -> Iterator[str]:
    back = {str(new): str(old) for old, new in enumerate(renaming)}
    back |= {f"-{new}": f"-{old}" for old, new in enumerate(renaming) if old}
    for line in lines:
        # The word d and the final 0 are not variables.
        yield " ".join(back.get(word, word) for word in line.split())


def _write(path: Path, blocks: Iterable[bytes]) -> None:
    unfinished = path.with_name(f"{path.name}.{os.getpid()}.tmp")
    try:
        with (
            unfinished.open("wb") as raw,
            # The header has no name and no time, which would differ from run to run.
            gzip.GzipFile("", "wb", _LEVEL, raw, mtime=0) as stream,
        ):
            for block in blocks:
                stream.write(block)
        os.replace(unfinished, path)
    except BaseException:
        unfinished.unlink(missing_ok=True)
        raise
