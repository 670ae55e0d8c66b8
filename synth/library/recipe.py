"""Recipes: the functions of a library, the limits for each, and the time for each question.

```toml
description = "Two-input gates that stack"   # optional
minimize = ["volume"]         # optional: measures in order of importance
solver = "glucose42"          # optional
seed = 0                      # optional
fewest_parts = false          # optional: look for fewer parts in each box found, too

[functions]                   # at least one of:
targets = ["half-adder"]      # specifications that come with gatefit
all_of = [1, 2]               # every function of so many inputs
classes_of = [3]              # the same up to the order of inputs, one of each P-class
tables = ["00010111"]         # columns of one output, as many as you like; or a file of them
idle_inputs = "skip"          # those that do not depend on every input: "skip" or "keep"

[time]                        # seconds a question: the first share, fourfold at every return
first = 10
most = 160

[[asks]]                      # each function is asked under each of these
inputs = [1, 2]               # optional: only functions of so many inputs
stack = "y"                   # optional: the stacking axis
joints = ["wire", "buffer"]   # optional
delays = [1, 2, 3, 4]         # each a question of its own
length = 5                    # and width, height, volume, floor, parts: the limits
width = 2
height = 5
```

Functions that differ only in the order of their inputs count as one: the store does not tell them
apart. So ``all_of`` and ``classes_of`` ask the same questions, one for each P-class; there are two
words because some readers know classes and others do not. ``idle_inputs`` applies to these two;
targets and tables are taken as they are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from math import inf
from pathlib import Path
from typing import Any

from synth import fields
from synth.errors import InputError
from synth.files import read_text
from synth.medium import AXES, Joint
from synth.medium_document import read_joint, read_toml
from synth.questions.measures import parse_measures
from synth.search.workers.solvers import DEFAULT_SOLVER, require_solver
from synth.spec import BooleanFunction, Limits, PinDemand, Spec, StackDemand
from synth.spec.classes import (
    MAX_INPUTS,
    depends_on_all,
    function_of,
    p_classes,
)
from synth.spec.function_names import function_name
from synth.spec.targets import load_target, target_names

_KEYS = ("description", "minimize", "solver", "seed", "fewest_parts", "functions", "time", "asks")
_FUNCTIONS = ("targets", "all_of", "classes_of", "tables", "idle_inputs")
_SIZES = ("length", "width", "height", "volume", "floor", "parts")
_ASK = ("inputs", "stack", "joints", "delays", *_SIZES)

FIRST_S, MOST_S = 10.0, 160.0
"""Seconds of the first and of the longest share of a question, if a recipe does not say."""


@dataclass(frozen=True)
class Ask:
    """Limits under which every function of a recipe is asked.

    Attributes:
        stack: the stacking axis, or None.
        joints: the joints; each is a question of its own.
        delays: the limits on delay, in ticks; each is a question of its own.
        limits: the other limits.
        inputs: the numbers of inputs of the functions to ask; None for all functions.
    """

    stack: str | None
    joints: tuple[Joint, ...]
    delays: tuple[int, ...]
    limits: Limits
    inputs: tuple[int, ...] | None = None

    def is_about(self, function: BooleanFunction) -> bool:
        """Whether a function is asked under these limits."""
        return self.inputs is None or len(function.inputs) in self.inputs


@dataclass(frozen=True)
class Recipe:
    """A recipe, read and checked.

    Attributes:
        functions: (name, function) pairs, in order; for ``all_of`` one of each P-class.
        asks: the limits under which each is asked.
        minimize: the measures.
        first_s, most_s: seconds of the first and of the longest share of a question.
        solver, seed: see ``synth.search.walk.solve``.
        description: what it is, in one line.
        fewest_parts: whether to look for fewer parts in the box of each smallest layout, which
            takes up to a tenth of its share of time more.
    """

    functions: tuple[tuple[str, BooleanFunction], ...]
    asks: tuple[Ask, ...]
    minimize: tuple[str, ...] = ("volume",)
    first_s: float = FIRST_S
    most_s: float = MOST_S
    solver: str = DEFAULT_SOLVER
    seed: int = 0
    description: str = ""
    fewest_parts: bool = False

    def chains(self) -> Iterator[tuple[str, list[Spec]]]:
        """The questions in chains, each with the name of its function.

        A chain holds questions that differ only in their delay, the longest delay first: a box that
        holds no layout within it holds none within a shorter one.
        """
        for ask in self.asks:
            for joint in ask.joints:
                for name, function in self.functions:
                    if not ask.is_about(function):
                        continue
                    pins = {
                        pin: PinDemand(joint=joint) for pin in (*function.inputs, *function.outputs)
                    }
                    stack = None if ask.stack is None else StackDemand(ask.stack)
                    yield (
                        name,
                        [
                            Spec(
                                function,
                                limits=_with_delay(ask.limits, delay),
                                pins=pins,
                                stack=stack,
                                name=name or None,
                            )
                            for delay in sorted(ask.delays, reverse=True)
                        ],
                    )


def _with_delay(limits: Limits, delay: int) -> Limits:
    sizes = {name: getattr(limits, name) for name in _SIZES}
    return Limits(**sizes, delay=delay)


def load_recipe(path: str | Path) -> Recipe:
    """Read a recipe file (TOML).

    Raises:
        InputError: naming the file, the place in it and what to write instead.
    """
    try:
        return read_recipe(read_toml(path), Path(path).parent)
    except InputError as error:
        raise error if error.file else error.in_file(str(path)) from None


def read_recipe(document: Mapping[str, Any], folder: Path = Path()) -> Recipe:
    """A recipe from its document; file names in it are relative to ``folder``.

    Raises:
        InputError: naming the place and what to write instead.
    """
    fields.check_keys(document, _KEYS, None, required=("functions", "asks"))
    first, most = _read_time(document.get("time", {}))
    measures = fields.words(document.get("minimize", ["volume"]), "minimize")
    with _placed("minimize"):
        minimize = parse_measures(measures)
    solver = fields.text(document.get("solver", DEFAULT_SOLVER), "solver")
    with _placed("solver"):
        require_solver(solver)
    return Recipe(
        functions=_read_functions(document["functions"], folder),
        asks=_read_asks(document["asks"]),
        minimize=minimize,
        first_s=first,
        most_s=most,
        solver=solver,
        seed=fields.whole(document.get("seed", 0), "seed", low=0),
        description=fields.line(document.get("description", ""), "description"),
        fewest_parts=fields.flag(document.get("fewest_parts", False), "fewest_parts"),
    )


@contextmanager
def _placed(place: str) -> Iterator[None]:
    """Add the place of a value to errors about it."""
    try:
        yield
    except InputError as error:
        raise InputError(error.problem, place=place, way_out=error.way_out) from None


def _read_time(value: object) -> tuple[float, float]:
    entry = fields.table(value, "time")
    fields.check_keys(entry, ("first", "most"), "time")
    most = _seconds(entry["most"], "time.most") if "most" in entry else None
    first = _seconds(entry.get("first", min(FIRST_S, most or FIRST_S)), "time.first")
    if most is None:
        most = max(MOST_S, first)
    if most < first:
        raise InputError(
            f"the longest share, {most:g} seconds, is below the first, {first:g} seconds",
            place="time.most",
            way_out=f"use {first:g} or more",
        )
    return first, most


def _seconds(value: object, place: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < inf:
        raise InputError(
            f"{fields.shown(value)} is no time", place=place, way_out="use seconds above 0"
        )
    return float(value)


def _read_functions(value: object, folder: Path) -> tuple[tuple[str, BooleanFunction], ...]:
    entry = fields.table(value, "functions")
    fields.check_keys(entry, _FUNCTIONS, "functions")
    idle = fields.choice(
        entry.get("idle_inputs", "skip"), ("skip", "keep"), "functions.idle_inputs", "choice"
    )
    found = [
        (name, _target(name, f"functions.targets[{index}]").function)
        for index, name in enumerate(fields.words(entry.get("targets", []), "functions.targets"))
    ]
    tables: dict[str, None] = {}
    for key in ("all_of", "classes_of"):
        for number in _counts(entry.get(key, []), f"functions.{key}"):
            # One of each class, because the others ask the same; four inputs have 65,536 functions.
            kept = (t for t in p_classes(number) if idle == "keep" or depends_on_all(t))
            tables |= dict.fromkeys(kept)
    tables |= dict.fromkeys(_read_tables(entry.get("tables", []), folder))
    found += [(function_name(table), function_of(table)) for table in tables]
    if not found:
        raise InputError(
            "no functions",
            place="functions",
            way_out=f"give some by {', '.join(_FUNCTIONS[:-1])}",
        )
    return tuple(found)


def _target(name: str, place: str) -> Spec:
    if name not in target_names():
        raise InputError(
            f"no target {fields.shown(name)}",
            place=place,
            way_out=fields.suggestion(name, target_names(), "the targets are"),
        )
    return load_target(name)


def _counts(value: object, place: str) -> list[int]:
    found = []
    for index, number in enumerate(value if isinstance(value, list) else [value]):
        count = fields.whole(number, fields.under(place, index), low=0)
        if count > MAX_INPUTS:
            raise InputError(
                f"all functions of {count} inputs",
                place=fields.under(place, index),
                way_out=f"use up to {MAX_INPUTS}; list tables of larger functions one by one",
            )
        found.append(count)
    return found


def _read_tables(value: object, folder: Path) -> list[str]:
    """Columns listed in the recipe, or in a file with one on each line; ``#`` starts a remark."""
    if isinstance(value, str):
        path = folder / value
        try:
            lines = read_text(path).splitlines()
        except InputError as error:
            raise InputError(
                f"the file of tables {fields.shown(value)}: {error.problem}",
                place="functions.tables",
                way_out=error.way_out or "name a file of tables, or list them: [...]",
            ) from None
        rows = [(f"line {n}", line.partition("#")[0].strip()) for n, line in enumerate(lines, 1)]
        rows = [(place, text) for place, text in rows if text]
        try:
            return [_column(text, place) for place, text in rows]
        except InputError as error:
            raise error.in_file(str(path)) from None
    place = "functions.tables"
    texts = fields.words(value, place) if value else ()
    return [_column(text, f"{place}[{index}]") for index, text in enumerate(texts)]


def _column(text: str, place: str) -> str:
    rows = len(text)
    fits = rows and not rows & (rows - 1) and rows <= 1 << MAX_INPUTS
    if not fits or set(text) - {"0", "1"}:
        raise InputError(
            f"{fields.shown(text)} is no table of up to {MAX_INPUTS} inputs",
            place=place,
            way_out="write 0 or 1 for each assignment in counting order: 2, 4, 8 or 16 digits",
        )
    return text


def _read_asks(value: object) -> tuple[Ask, ...]:
    entries = fields.items(value, "asks")
    if not entries:
        raise InputError(
            "there are no [[asks]]", place="asks", way_out="give at least one [[asks]]"
        )
    return tuple(_read_ask(entry, f"asks[{index}]") for index, entry in enumerate(entries))


def _delay(value: object, place: str) -> int:
    """A limit on delay that a specification may have, so that it can be asked."""
    delay = fields.whole(value, place, low=0)
    with _placed(place):
        Limits(delay=delay)
    return delay


def _read_ask(value: object, place: str) -> Ask:
    entry = fields.table(value, place)
    fields.check_keys(entry, _ASK, place, required=("delays", "length", "width", "height"))
    stack = entry.get("stack")
    joints = fields.items(entry.get("joints", ["wire"]), f"{place}.joints")
    delays = fields.items(entry["delays"], f"{place}.delays")
    if not joints or not delays:
        empty = "joints" if not joints else "delays"
        raise InputError(f"no {empty}", place=f"{place}.{empty}", way_out="list at least one")
    limits = {name: entry[name] for name in _SIZES if name in entry}
    try:
        return Ask(
            stack=None if stack is None else fields.choice(stack, AXES, f"{place}.stack", "axis"),
            joints=tuple(
                read_joint(joint, f"{place}.joints[{index}]") for index, joint in enumerate(joints)
            ),
            delays=tuple(
                _delay(delay, f"{place}.delays[{index}]") for index, delay in enumerate(delays)
            ),
            limits=Limits(**limits),
            inputs=tuple(_counts(entry["inputs"], f"{place}.inputs"))
            if "inputs" in entry
            else None,
        )
    except InputError as error:
        where = error.place or ""
        if where.startswith("limits."):
            where = f"{place}.{where.removeprefix('limits.')}"
            raise InputError(error.problem, place=where, way_out=error.way_out) from None
        raise
