"""Chains asked for: in text, in documents, and what does not agree."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from synth.errors import InputError
from synth.medium import ChainLink, Direction, Joint
from synth.spec import Spec
from synth.spec.documents import read_spec, write_spec

ADDER = "s = a ^ b ^ ci; co = a & b | ci & (a | b)"


def test_a_chain_says_where_its_pins_are() -> None:
    spec = Spec.parse(ADDER, stack="x", chain=[("co", "ci")], link_delay=3, joint="wire")
    assert spec.chain == (ChainLink("co", "ci"),)
    assert spec.faces("co") == (Direction.PX,)
    assert spec.faces("ci") == (Direction.NX,)
    assert spec.joint("ci") is spec.joint("co") is Joint.BUFFER
    assert spec.joint("a") is Joint.WIRE
    assert spec.faces("a") == (Direction.PY, Direction.NY)
    assert spec.limits.link_delay == 3


@pytest.mark.parametrize("chain", ["co:ci", ["co:ci"], [["co", "ci"]], (("co", "ci"),)])
def test_a_link_is_written_as_it_comes(chain: Any) -> None:
    assert Spec.parse(ADDER, stack="y", chain=chain).chain == (ChainLink("co", "ci"),)


def test_links_are_a_set() -> None:
    text = "p = a & i; q = a | j"
    one = Spec.parse(text, stack="y", chain="p:i q:j")
    assert one == Spec.parse(text, stack="y", chain="q:j, p:i")
    assert one != Spec.parse(text, stack="y", chain="q:i, p:j")


def test_a_document_keeps_it() -> None:
    spec = Spec.parse(ADDER, stack="y", chain="co:ci", link_delay=3, joint="buffer")
    assert read_spec(tomllib.loads(write_spec(spec))) == spec
    document = tomllib.loads(
        """
        joint = "wire"
        outputs.co = "a & ci"
        stack.axis = "y"
        [[chain]]
        from = "co"
        to = "ci"
        """
    )
    assert read_spec(document) == Spec.parse("co = a & ci", stack="y", joint="wire", chain="co:ci")


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        ({"chain": "co:ci"}, "chain: there is a chain, but no stacking; stack along y or x"),
        ({"stack": "z", "chain": "co:ci"}, "chain: a chain along z: .* stack along x or y"),
        ({"stack": "y", "chain": "ci:co"}, "chain: no output 'ci', it is an input"),
        ({"stack": "y", "chain": "co:c"}, "chain: no input 'c'; .* did you mean"),
        ({"stack": "y", "chain": "co:ci s:ci"}, "'ci' is in two links"),
        ({"stack": "y", "chain": "co:ci co:a"}, "'co' is in two links"),
        ({"stack": "y", "chain": "co-ci"}, "'co-ci' is no link of a chain; .*: co:ci"),
        ({"stack": "y", "chain": [("co",)]}, r"chain\[0\]: \('co',\) is no link of a chain"),
        ({"stack": "y", "pitch": 3, "chain": "co:ci"}, "stack.pitch: .* leave the pitch out"),
        ({"link_delay": 2}, "limits.link_delay: .* but no chain"),
        ({"stack": "y", "chain": "co:ci", "link_delay": -1}, "use 0 to 64"),
    ],
)
def test_what_does_not_agree_is_named(asked: dict[str, Any], message: str) -> None:
    with pytest.raises(InputError, match=message):
        Spec.parse(ADDER, **asked)


PINS = [
    ('co = { faces = ["-x"] }', "pins.co.faces: pin 'co' on face -x, .* puts it on [+]y"),
    ('ci = { joint = "wire" }', "pins.ci.joint: a wire joint at 'ci'"),
    ("ci = { at = [0, 0, 1] }\nco = { at = [1, 2, 1] }", "chain: .* do not meet in a row"),
]


@pytest.mark.parametrize(("pins", "message"), PINS)
def test_other_places_of_a_link_are_named(pins: str, message: str) -> None:
    text = f"""
        outputs.co = "a & ci"
        stack.axis = "y"
        [pins]
        {pins}
        [[chain]]
        from = "co"
        to = "ci"
        """
    with pytest.raises(InputError, match=message):
        read_spec(tomllib.loads(text))
