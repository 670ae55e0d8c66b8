"""The single rules of the medium, by section, each with its words in ``medium.md``.

Floor 1: imports nothing of ours, and says nothing about how a rule is read. A rule's name is its
section and a word or two: ``4 driven``. A docstring that ends in ``Medium: 4 driven.`` says that
its method is a reading of that rule; ``tests/test_rules.py`` gathers them, holds the words below
to ``medium.md``, and writes the table in DEVELOPERS.md. The encoding counts clauses by these names.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

MEDIUM_RULES: Mapping[str, str] = {
    # 2. Parts
    "2 one part": "A cell holds one part or is empty",
    "2 supports": "clear and ledge differ only in what may rest on them",
    "2 hosts": "The host of an inverter is its neighbour in direction on; it must be a solid "
    "inside the box",
    "2 buffer delays": "buffer, to = a level direction, delay = 1, 2, 3 or 4",
    # 3. Who touches a wire
    "3 level links": "Two wires are linked when they are level neighbours",
    "3 climbing": "one step apart diagonally: wire p, and wire q one level step and one step up "
    "from p, provided the cell above p is not solid",
    "3 descending": "clear and ledge pass a signal up, not down",
    "3 connects": "A wire connects towards level direction d when any of these holds",
    "3 runs": "A wire runs towards a set of level directions: those it connects to if there are "
    "two or more",
    # 4. Power, at one instant
    "4 driven": "A solid is driven when the cell below it holds an inverter that is on (standing "
    "or hanging), or a level neighbour is a buffer that is on and points into it",
    "4 charged": "A solid is charged when it is driven, or the cell above it is a wire of strength "
    "above 0, or a level neighbour is a wire of strength above 0 that runs towards it",
    "4 sources": "A wire has strength reach when any of these holds",
    "4 along links": "else the largest (strength - 1) over the linked wires it can receive from",
    "4 inverter sees": "An inverter sees its host charged or not",
    "4 buffer sees": "A buffer sees power when its back is: a wire of strength above 0; a charged "
    "solid; an inverter that is on; a buffer that is on and points the same way",
    # 5. Time
    "5 inverter in time": "out(t+1) = host not charged at t",
    "5 buffer in time": "if nothing is pending and what it sees at t (power or none) differs from "
    "out(t), a change is set, due at t+k",
    "5 held in time": "then out(t+1) = out(t), and a pending change is dropped, even one due at "
    "t+1",
    "5 none held": "A layout in which a buffer points into another buffer's side can hold; it is "
    "sequential. The combinational synthesiser does not make one",
    "5 traces start": "A played trace starts at tick 0 with every inverter and buffer of the box "
    "off and nothing pending",
    "5 settling starts": "at tick 0 every inverter and buffer is unknown, and the inputs stand "
    "still",
    "5 without loss": "in the second a wire passes its strength on without loss",
    "5 inverters settle": "an inverter is surely on if its host is not possibly charged, possibly "
    "on unless its host is surely charged",
    "5 buffers settle": "a buffer of delay k is surely on at t if it surely saw power at all of "
    "the ticks t-k to t-1, and possibly on at t if it possibly saw power at any of the ticks "
    "t-(2k-1) to t-1",
    "5 held settle": "A buffer with a buffer pointing into one of its sides is possibly on and "
    "never surely on",
    "5 outputs right": "each output that matters reads its right value (1: surely on; 0: not "
    "possibly on; a don't-care need not settle)",
    "5 fed back": "no input is fed back: the lead of an input that is off is not possibly on",
    # 6. Pins
    "6 faces": "A pin sits on a level face (+x -x +y -y) of a cell at the edge of the box, where "
    "the cell beyond that face lies outside",
    "6 leads": "beyond the face, on a ledge, lies a wire, the lead, which goes on away from the "
    "box",
    "6 leads give": "a lead charges a solid at the pin's cell, feeds a buffer there that points "
    "inwards, joins a wire there, and climbs to a wire on top of that cell",
    "6 input leads": "An input's lead has strength reach while the input is on",
    "6 leads receive": "it is powered by an inverter, a driven solid, a buffer pointing outwards "
    "or a wire at that cell",
    "6 outside buffers": "beyond the face, on a ledge, stands a buffer. For an input it points "
    "inwards and is on exactly while the input is on",
    "6 outputs read": "An output reads on when its lead has strength above 0",
    "6 one a face": "One face carries at most one pin",
    "6 distances": "two pins in the same lane (the coordinate along the side) lie at least 2 apart "
    "in height",
    "6 distances of copies": "This holds between the copies of a stack too",
    "6 traces show": "The strengths and lists of a trace (what the simulator saw, tick by tick) "
    "name only cells inside the box",
    # 7. Stacking
    "7 every copy": "with the inputs of all copies but one unknown at every tick (possibly on, not "
    "surely on), that one meets T; and this for each copy of each row",
    "7 links": "no wire of one copy is linked to a wire of another",
    "7 inverters": "no inverter of one copy has a wire of another as a level neighbour or below it",
    "7 hosts": "no part of one copy has its host or support in another",
    "7 buffers": "no buffer has its back or front in another",
    "7 pins": "no pin's face is + or - the stacking axis",
    "7 ground": "a layout on ground does not stack along z",
    "7 pitch": "The pitch is the box's size on that axis unless stated, and never less",
    "7 traces": "A trace plays one copy alone",
    # 8. Ground
    "8 ground": "With ground, the cells just under height 0 carry wires and buffers as a ledge "
    "does",
    "8 inverters": "A standing inverter at height 0 is always illegal",
    # 9. Measures
    "9 volume and floor": "volume = length x width x height of the box. floor = length x width",
    "9 delay": "delay = the smallest T that it meets",
    "9 parts": "parts = cells that are not empty",
    # 11. Chains
    "11 pitch": "The pitch is the size of the box along A",
    "11 places": "o's cell lies at the +A end of the box and holds a buffer of delay 1 that points "
    "along +A. i's cell lies at the -A end, with the same two other coordinates",
    "11 faces": "o and i have their pins on the faces +A and -A of these cells; no other pin lies "
    "on these faces",
    "11 distances": "Pins of links keep the distances of section 6 from each other and from all "
    "pins, as if of joint buffer, and along the rows of copies too",
    "11 handed on": "In a row, i of each copy but the first is on exactly while the buffer in o's "
    "cell of the copy before is",
    "11 first copy": "i of the first copy is an input of joint buffer on that face, on its ledge",
    "11 outputs read": "o reads on while its buffer is on",
    "11 strange": "Everything else of one copy stays strange to the others, as in section 7: a "
    "link's buffer powers nothing of its neighbour but through i's cell",
    "11 delay": "Delay T: every output right at tick T when all inputs, links included, stand "
    "still from tick 0",
    "11 link delay": "let all other inputs stand still and i be unknown for as long as it takes "
    "until nothing changes; then let i be known and still: o is right C ticks later, in every "
    "assignment",
}
"""Every rule of sections 2 to 9 and 11: its name, and the words of ``medium.md`` that state it."""


def sentence(rule: str) -> str:
    """``4 driven: A solid is driven when ...``; what is no rule of the medium stays as it is."""
    words = MEDIUM_RULES.get(rule)
    return rule if words is None else f"{rule}: {words}"


def by_sentence(counts: Mapping[str, int]) -> dict[str, int]:
    """Counts by rule, rules of the medium first, in its order and with their words.

    Args:
        counts: by name of a rule, or of what is no rule of the medium (a specification's wish, a
            clause that only makes the search shorter).
    """
    rules: Iterable[str] = [rule for rule in MEDIUM_RULES if rule in counts]
    others = [name for name in counts if name not in MEDIUM_RULES]
    return {sentence(name): counts[name] for name in [*rules, *others]}
