"""Checks, on the formula itself, that symmetry breaking leaves one layout of each set.

The formula of a question has clauses that exclude mirror images, turns and exchanged inputs. An
argument says that they leave one layout of each set (``synth.encoding.symmetry``). Here that is
checked on the clauses:

1. the formula without those clauses maps to itself, clause by clause, when its variables are
   renamed as each symmetry says; so a symmetry maps every model to a model;
2. the added clauses are only about the places of pins;
3. among the places to which images map a place of the anchor, at least one stays; and of two
   different places for two exchangeable inputs, one order stays. (Exchanges move no output, so
   they do not undo what the images did; a set of three or more is ordered pair by pair.)

A bound on parts is left out of step 1: its counter counts the cells in a fixed order, but whether
a layout has at most that many parts is the same for all its images.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

from synth.encoding import Encoding, Question, encode
from synth.encoding.backwards import ACROSS, HERE
from synth.encoding.geometry import Slot
from synth.encoding.question import Play
from synth.encoding.shape import Node
from synth.encoding.symmetry import Image, exchangeable, images
from synth.medium import LEVEL_DIRECTIONS, Direction

Clauses = set[frozenset[int]]

_PLAY_AT = {
    "surely": 2,
    "possibly": 2,
    "surely within": 1,
    "given": 1,
    "place": 1,
    "reads one": 1,
    "reads zero": 1,
    "changes": 1,
    "makes read": 2,
}
"""The position of the play in the name of a variable, by the first word of the name."""


_NAMES_AT = {
    "pin": (1,),
    "changes": (2,),
    "read at": (1,),
    "read solid": (1,),
    HERE: (1, 3),
    ACROSS: (1, 3),
    "leads on": (1,),
    "to go": (1,),
    "makes read": (1,),
}
"""The positions of pins' names in the name of a variable; what is no text there is a place."""


class NotShown(Exception):
    """The check did not succeed; the text says where it stopped."""


@dataclass(frozen=True)
class _Renaming:
    """A symmetry: an image of the box, an exchange of inputs, and what it does to plays."""

    image: Image
    names: Mapping[str, str]
    plays: Mapping[int, int]


def check_symmetry(encoding: Encoding) -> int:
    """Check symmetry breaking in a formula.

    Returns:
        How many symmetries were followed (those that generate the others).

    Raises:
        NotShown: if it could not be shown; the answer then rests on the argument.
    """
    question = encoding.question
    plain = encode(replace(question, break_symmetry=False, parts=None))
    full = encoding if question.parts is None else encode(replace(question, parts=None))
    renamings = _generators(question, plain)
    clauses = {frozenset(clause) for clause in plain.clauses}
    for renaming in renamings:
        if _renamed(plain, renaming, clauses) != clauses:
            raise NotShown("the formula does not map to itself under one of the symmetries")
    added = {frozenset(clause) for clause in full.clauses} - clauses
    _added_clauses_leave_one(question, plain, added)
    return len(renamings)


def _generators(question: Question, plain: Encoding) -> list[_Renaming]:
    same = {name: name for name in question.spec.pin_names}
    kinds = (question.plays, question.waiting, question.late, question.parts_of_tick_0)
    every = (*question.every_play, *question.parts_of_tick_0)
    plays = {play.index: play.index for play in every}
    still = Image(False, False, False, question.size)
    found = [_Renaming(image, same, plays) for image in _generating(question, plain)]
    for names in exchangeable(question):
        for first, second in pairwise(names):
            exchange = same | {first: second, second: first}
            exchanged = dict(plays)
            for kind in kinds:
                exchanged |= _exchanged_plays(kind, exchange)
            found.append(_Renaming(still, exchange, exchanged))
    return found


def _generating(question: Question, plain: Encoding) -> list[Image]:
    """Images that generate all others by composition."""
    places = [Slot(cell, to) for cell in plain.statics.cells for to in LEVEL_DIRECTIONS]
    numbers = {place: number for number, place in enumerate(places)}
    found = []
    made = {tuple(range(len(places)))}
    for image in images(question, plain.statics):
        action = tuple(numbers[image.slot(place)] for place in places)
        if action in made:
            continue
        found.append(image)
        # A group has at most eight elements: multiply until no new one appears.
        made.add(action)
        while (more := made | {tuple(b[i] for i in a) for a in made for b in made}) != made:
            made = more
    return found


def _exchanged_plays(plays: Iterable[Play], exchange: Mapping[str, str]) -> dict[int, int]:
    """Which play becomes which of its kind when inputs are exchanged."""
    by_inputs = {play.on: play.index for play in plays}
    return {
        number: by_inputs[frozenset(exchange[name] for name in on)]
        for on, number in by_inputs.items()
    }


def _renamed(plain: Encoding, renaming: _Renaming, clauses: Clauses) -> Clauses:
    number_of = {
        plain.formula.name(number): number for number in range(1, plain.variable_count + 1)
    }
    links = _link_numbers(plain, renaming)
    to = [0]
    for number in range(1, plain.variable_count + 1):
        name = _renamed_key(plain.formula.name(number), renaming, links)
        other = number_of.get(name)
        if other is None:
            raise NotShown(f"no variable {name} to rename to")
        to.append(other)
    return {
        frozenset(to[literal] if literal > 0 else -to[-literal] for literal in clause)
        for clause in clauses
    }


def _renamed_key(
    key: tuple[object, ...], renaming: _Renaming, links: Mapping[tuple[object, int], int]
) -> tuple[object, ...]:
    family = key[0]
    if family == "computes":
        (member,) = key[1:]
        assert isinstance(member, tuple)
        return (family, tuple(_exchanged(column, renaming.plays) for column in member))
    renamed = [_moved(word, renaming.image) for word in key]
    if family == "level":
        # A link between neighbours has one name, whichever end it is seen from.
        one, direction = renamed[1:]
        assert isinstance(direction, Direction)
        if direction.opposite < direction:
            assert isinstance(one, tuple)
            renamed[1:] = [direction.step(one), direction.opposite]
    for position in _NAMES_AT.get(str(family), ()):
        name = key[position]
        if isinstance(name, str):
            renamed[position] = renaming.names[name]
    place = _PLAY_AT.get(str(family))
    if place is not None:
        play = key[place]
        assert isinstance(play, int)
        renamed[place] = renaming.plays[play]
    if family == "given":
        number = key[-1]
        assert isinstance(number, int)
        renamed[-1] = links[(key[2], number)]
    return tuple(renamed)


def _exchanged(column: str, plays: Mapping[int, int]) -> str:
    """A column in which each row has the value of the row's image."""
    rows = {plays[row]: value for row, value in enumerate(column)}
    return "".join(rows[row] for row in range(len(column)))


def _moved(word: object, image: Image) -> object:
    if isinstance(word, Direction):
        return image.direction(word)
    if isinstance(word, Slot):
        return image.slot(word)
    if isinstance(word, tuple):
        x, y, z = word
        return image.cell((x, y, z))
    return word


def _link_numbers(plain: Encoding, renaming: _Renaming) -> dict[tuple[object, int], int]:
    """The number of each link's image among the links into the image of its target."""
    into = plain.rails.shape.into
    numbers: dict[tuple[object, int], int] = {}
    for node, links in into.items():
        sources = [link.source for link in into.get(_moved_node(node, renaming.image), [])]
        for number, link in enumerate(links):
            moved = _moved_node(link.source, renaming.image)
            if sources.count(moved) != 1:
                raise NotShown(f"the links into {node} have no clear image")
            numbers[(node, number)] = sources.index(moved)
    return numbers


def _moved_node(node: Node, image: Image) -> Node:
    return image.slot(node) if isinstance(node, Slot) else image.cell(node)


def _added_clauses_leave_one(question: Question, plain: Encoding, added: Clauses) -> None:
    pins = {
        plain.statics.pin(name, slot): (name, slot)
        for name, slots in plain.statics.slots.items()
        for slot in slots
    }
    if any(abs(literal) not in pins for clause in added for literal in clause):
        raise NotShown("a clause that breaks symmetry speaks of more than pins")
    anchor = next(iter(question.spec.function.outputs))
    sets = list(exchangeable(question))
    of_anchor = {c for c in added if {pins[abs(lit)][0] for lit in c} == {anchor}}
    rest = added - of_anchor
    group = images(question, plain.statics)
    for slot in plain.statics.slots[anchor]:
        images_of = {image.slot(slot) for image in group}
        if not any(_admits(of_anchor, [plain.statics.pin(anchor, s)]) for s in images_of):
            raise NotShown(f"no image of the anchor at {slot.cell} on {slot.face} is left")
    for names in sets:
        for first, second in pairwise(names):
            of_pair = {c for c in rest if {pins[abs(lit)][0] for lit in c} <= {first, second}}
            rest -= of_pair
            _one_order_stays(plain, of_pair, first, second)
    if rest:
        raise NotShown("a clause that breaks symmetry speaks of pins that no symmetry moves")


def _one_order_stays(plain: Encoding, clauses: Clauses, first: str, second: str) -> None:
    """For two places and two inputs one order is admitted, and orders agree in longer sets."""
    for one, other in combinations(plain.statics.slots[first], 2):
        ordered = [plain.statics.pin(first, one), plain.statics.pin(second, other)]
        if not _admits(clauses, ordered):
            raise NotShown(f"inputs {first} and {second} are left no order at some places")


def _admits(clauses: Iterable[frozenset[int]], true: list[int]) -> bool:
    """Whether clauses over pins hold if exactly these pin variables are true."""
    return all(any((literal > 0) == (abs(literal) in true) for literal in c) for c in clauses)
