"""The expression parser against the operator tables of the standard, sympy and its own errors."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st
from sympy.logic.boolalg import ITE, And, Boolean, Not, Or, Xnor, Xor, truth_table

from synth.errors import InputError
from synth.spec import MAX_INPUTS, BooleanFunction
from synth.spec.expression import parse_function, parse_outputs


def column(expression: str, inputs: str = "ab") -> str:
    return parse_function(f"q = {expression}", list(inputs)).outputs["q"]


# IEEE Std 1364-2005, section 5.1.10, the tables of the bit-wise operators for 0 and 1, and
# section 5.1.13 for the conditional operator; from memory. Columns for a b = 00 01 10 11.
STANDARD = {
    "a & b": "0001",
    "a | b": "0111",
    "a ^ b": "0110",
    "a ^~ b": "1001",
    "a ~^ b": "1001",
    "~a": "1100",
    "~b": "1010",
    "1'b0": "0000",
    "1'b1": "1111",
    "a ? b : 1'b0": "0001",
    "a ? 1'b1 : b": "0111",
}


@pytest.mark.parametrize(("expression", "values"), STANDARD.items())
def test_operators_of_the_standard(expression: str, values: str) -> None:
    assert column(expression) == values


# IEEE Std 1364-2005, Table 5-4: ~ before & before ^ ^~ ~^ before | before ?: ; all associate
# from left to right, the conditional from right to left; from memory.
PRECEDENCE = [
    ("~a & b", "(~a) & b"),
    ("~a ^ b", "(~a) ^ b"),
    ("~a | b", "(~a) | b"),
    ("a ^ b & c", "a ^ (b & c)"),
    ("a & b ^ c", "(a & b) ^ c"),
    ("a ~^ b & c", "a ~^ (b & c)"),
    ("a | b ^ c", "a | (b ^ c)"),
    ("a ^ b | c", "(a ^ b) | c"),
    ("a | b & c", "a | (b & c)"),
    ("a | b ~^ c", "a | (b ~^ c)"),
    ("a ^ b ~^ c", "(a ^ b) ~^ c"),
    ("a ^~ b ^ c", "(a ^~ b) ^ c"),
    ("a | b ? c : d", "(a | b) ? c : d"),
    ("a ? b : c | d", "a ? b : (c | d)"),
    ("a ? b : c ? d : a", "a ? b : (c ? d : a)"),
    ("a ? b ? c : d : b", "a ? (b ? c : d) : b"),
    # The longest operator is read first: this is no a ^ (~b).
    ("a ^~ b & c", "~(a ^ (b & c))"),
    ("a ^ ~b & c", "a ^ ((~b) & c)"),
]


@pytest.mark.parametrize(("bare", "bracketed"), PRECEDENCE)
def test_precedence_and_associativity(bare: str, bracketed: str) -> None:
    assert column(bare, "abcd") == column(bracketed, "abcd")


def test_the_other_readings_would_differ() -> None:
    """So that the pairs above can fail."""
    assert column("(a ^ b) & c", "abc") != column("a ^ b & c", "abc")
    assert column("(a | b) ^ c", "abc") != column("a | b ^ c", "abc")
    assert column("~(a & b)") != column("~a & b")
    assert column("(a ? b : c) ? d : a", "abcd") != column("a ? b : c ? d : a", "abcd")


# A tree is a name, a constant, or an operator with its operands.
Tree = str | tuple[object, ...]
VARIABLES = {name: sympy.Symbol(name) for name in "abcd"}
ATOMS = VARIABLES | {"1'b0": sympy.false, "1'b1": sympy.true}
LEVEL = {"?": 0, "|": 1, "^": 2, "~^": 2, "^~": 2, "&": 3, "~": 4}
MEANING: dict[str, Callable[..., Boolean]] = {
    "~": Not,
    "&": And,
    "|": Or,
    "^": Xor,
    "~^": Xnor,
    "^~": Xnor,
    "?": ITE,
}
trees: st.SearchStrategy[Tree] = st.recursive(
    st.sampled_from([*"abcd", "1'b0", "1'b1"]),
    lambda inner: st.one_of(
        st.tuples(st.just("~"), inner),
        st.tuples(st.sampled_from(["&", "|", "^", "~^", "^~"]), inner, inner),
        st.tuples(st.just("?"), inner, inner, inner),
    ),
    max_leaves=12,
)


def written(tree: Tree, level: int = 0, space: str = " ") -> str:
    """The tree with no more parentheses than Table 5-4 makes needful."""
    if isinstance(tree, str):
        return tree
    operator, *operands = tree
    own = LEVEL[str(operator)]
    if operator == "~":
        text = "~" + written(operands[0], own, space)
    elif operator == "?":
        condition, then, otherwise = operands
        text = (
            f"{written(condition, 1, space)}{space}?{space}{written(then, 0, space)}{space}:"
            f"{space}{written(otherwise, 0, space)}"
        )
    else:
        left, right = written(operands[0], own, space), written(operands[1], own + 1, space)
        # Without a space, ^ and ~ would run together into one operator.
        gap = " " if right.startswith("~") else space
        text = f"{left}{space}{operator}{gap}{right}"
    return f"({text})" if own < level else text


def meaning(tree: Tree) -> Boolean:
    """The tree in sympy."""
    if isinstance(tree, str):
        return ATOMS[tree]
    operator, *operands = tree
    return MEANING[str(operator)](*[meaning(operand) for operand in operands])


@given(trees, st.sampled_from(["", " ", "  ", "\t"]))
def test_agrees_with_sympy(tree: Tree, space: str) -> None:
    expected = truth_table(meaning(tree), list(VARIABLES.values()), input=False)
    values = "".join("1" if value else "0" for value in expected)
    assert column(written(tree, space=space), "abcd") == values


@given(st.lists(st.sampled_from("abcdefgh"), unique=True, min_size=1))
def test_inputs_come_in_order_of_appearance(names: list[str]) -> None:
    function = parse_function("q = " + " ^ ".join([*names, *reversed(names)]))
    assert function.inputs == tuple(names)


def test_the_first_input_is_the_most_significant() -> None:
    function = parse_function("q = a & ~b; r = b")
    assert function == BooleanFunction(("a", "b"), {"q": "0010", "r": "0101"})
    assert parse_function("q = a & ~b", ["b", "a"]).outputs["q"] == "0100"


def test_a_listed_input_need_not_be_used() -> None:
    assert parse_function("q = a", ["x", "a"]) == BooleanFunction(("x", "a"), {"q": "0101"})


SAME = [
    "q = a ^ b; c = a & b",
    "q = a ^ b; c = a & b;",
    "q=a^b;c=a&b",
    "q = a ^ b\nc = a & b\n",
    "q = a ^ b\r\nc = a & b\r\n",
    "\n\n;; q = a ^ b ;\n\n; c = a & b ;;",
    "assign q = a ^ b; assign c = a & b;",
    "q = a ^ b // sum\n// carry\nc = a & b // done",
    "q = a /* left */ ^ b; c = /* two\nlines */ a & b",
    "q = a\n  ^ b\nc = a &\n  b",
    "q =\n  a ^ b\nc\n= (a\n & b\n)",
    "q = (a ^ (b)); c = a & b & 1 'B 1 | 1'b0",
]


@pytest.mark.parametrize("text", SAME)
def test_ways_of_writing_the_same(text: str) -> None:
    assert parse_function(text) == BooleanFunction(("a", "b"), {"q": "0110", "c": "0001"})


def test_assigned_names_may_be_used_before_and_after() -> None:
    function = parse_function("s = p ^ ci; p = a ^ b; co = p ? ci : a")
    assert function.inputs == ("ci", "a", "b")
    assert list(function.outputs) == ["s", "p", "co"]
    plain = parse_function("s = a ^ b ^ ci; p = a ^ b; co = a & b | a & ci | b & ci", ["ci", *"ab"])
    assert function == plain


def test_a_chain_of_ten_thousand_assignments() -> None:
    lines = [f"n{i} = ~n{i + 1}" for i in range(10_000)]
    assert parse_function("\n".join(lines)).outputs["n0"] == "01"


def test_constants_need_no_inputs() -> None:
    assert parse_function("q = 1'b1; r = ~q") == BooleanFunction((), {"q": "1", "r": "0"})


DEEP = 50_000


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("~" * (2 * DEEP + 1) + "a", "10"),
        ("(" * DEEP + "a" + ")" * DEEP, "01"),
        ("a ? 1'b0 : " * DEEP + "1'b1", "10"),
        ("a ? " * DEEP + "a" + ": 1'b0" * DEEP, "01"),
        ("a ^ (" * DEEP + "a" + ")" * DEEP, "01"),
    ],
)
def test_no_nesting_is_too_deep(text: str, values: str) -> None:
    assert column(text, "a") == values


def test_eight_inputs_and_no_more() -> None:
    names = [f"i{number}" for number in range(MAX_INPUTS)]
    function = parse_function(f"q = {' ^ '.join(names)}")
    assert function.outputs["q"] == "".join(str(r.bit_count() % 2) for r in range(256))
    with pytest.raises(InputError) as caught:
        parse_function(f"q = {' ^ '.join(names)} ^ one_more")
    assert str(caught.value) == (
        "inputs: 9 inputs, and the search asks about all 2**9 assignments; use at most 8 inputs; "
        "for more there are 'gatefit build' and 'gatefit check --circuit'"
    )
    with pytest.raises(InputError, match="use at most 8 inputs"):
        parse_function("q = a", [*names, "a"])


WRONG = [
    ("", "column 1: an empty function; write an assignment: q = a & b"),
    (" ;; // nothing", "column 1: an empty function"),
    ("q", "column 2: the end where '=' is expected after 'q'; write q = a & b"),
    ("q = ", "column 5: the end where a name, 1'b0, 1'b1, ~ or ( is expected; complete"),
    ("= a", "column 1: '=' where the name of an output is expected; write q = a & b"),
    ("1'b1 = a", 'column 1: "1\'b1" where the name of an output is expected'),
    ("q = a b", "column 7: 'b' where an operator or the end is expected; put one of"),
    ("q = a ~b", "column 7: '~' where an operator or the end is expected"),
    ("q = a = b", "column 7: '=' where an operator or the end is expected; write ~^ for equal"),
    ("q = = a", "column 5: '=' where a name, 1'b0, 1'b1, ~ or ( is expected; write ~^ for equal"),
    ("q = ()", "column 6: ')' where a name, 1'b0, 1'b1, ~ or ( is expected"),
    ("q = (a", "column 5: '(' that is never closed; add a ')'"),
    ("q = (a; r = b)", "column 5: '(' that is never closed"),
    ("q = a)", "column 6: ')' without '('; leave it out, or open it"),
    ("q = a ? b", "column 7: '?' without ':'; write condition ? a : b"),
    ("q = (a ? b) : c", "column 8: '?' without ':'"),
    ("q = a : b", "column 7: ':' without '?'; write condition ? a : b"),
    ("q = a ? b : c : d", "column 15: ':' without '?'"),
    ("q = a; q = b", "column 8: 'q' is assigned twice; give each output one assignment"),
    ("q = q", "column 5: 'q' depends on itself: q -> q; break the loop"),
    (
        "x = a\nq = r\nr = s & a\ns = ~q",
        "line 4, column 6: 'q' depends on itself: q -> r -> s -> q",
    ),
    ("p = q; q = r & a; r = q", "column 23: 'q' depends on itself: q -> r -> q"),
    # Reduction operators.
    ("q = a ^^ b", "column 8: '^' where .* expected; write a ^ b; reduction operators are not"),
    ("q = &a", "column 5: '&' where .* expected; write a & b; reduction operators are not used"),
    ("q = a & |b", "column 9: '|' where .* expected; write a | b; reduction operators are not"),
    ("q = ~^a", "column 5: '~^' where .* expected; write a ~^ b; reduction operators are not"),
    ("q = ~&a", "column 5: '~&' is not used here; it is a reduction operator.*write ~(a & b)"),
    ("q = a ~| b", "column 7: '~|' is not used here; it is a reduction operator.*write ~(a | b)"),
    # Logical operators, comparisons and arithmetic.
    ("q = !a", "column 5: '!' is not used here; write ~ for not"),
    ("q = a && b", "column 7: '&&' is not used here; write & for and"),
    ("q = a || b", "column 7: '||' is not used here; write | for or"),
    ("q = a == b", "column 7: '==' is not used here; write ~^ for equal"),
    ("q = a === b", "column 7: '===' is not used here; write ~^ for equal"),
    ("q = a != b", "column 7: '!=' is not used here; write ^ for not equal"),
    ("q = a !== b", "column 7: '!==' is not used here; write ^ for not equal"),
    ("q = a < b", "column 7: '<' is not used here; write ~a & b"),
    ("q = a > b", "column 7: '>' is not used here; write a & ~b"),
    ("q = a <= b", "column 7: '<=' is not used here; write ~a | b"),
    ("q = a >= b", "column 7: '>=' is not used here; write a | ~b"),
    ("q = a -> b", "column 7: '->' is not used here; write ~a | b"),
    ("q = a << b", "column 7: '<<' is not used here; nets are one bit wide, nothing shifts"),
    ("q = a >> b", "column 7: '>>' is not used here; nets are one bit wide, nothing shifts"),
    ("q = a + b", "column 7: '+' is not used here; write | for or, ^ for the sum of two bits"),
    ("q = -a", "column 5: '-' is not used here; write ^ for the difference"),
    ("q = a * b", "column 7: '*' is not used here; write & for and"),
    ("q = a ** b", "column 7: '**' is not used here; write & for and"),
    ("q = a / b", "column 7: '/' is not used here; there is no arithmetic"),
    ("q = a % b", "column 7: '%' is not used here; there is no arithmetic"),
    ("q = not a", "column 5: 'not' is a reserved word; write ~ for not"),
    ("q = a and b", "column 7: 'and' is a reserved word; write & for and"),
    ("q = a xor b", "column 7: 'xor' is a reserved word; write ^ for exclusive-or"),
    ("q = a \N{LOGICAL AND} b", "column 7: '\N{LOGICAL AND}' is not used here; write & for and"),
    # Selects, joins and numbers.
    ("q = a[1:0]", "column 6: '[' is not used here; .* name a single bit, as a[0]"),
    ("q[1:0] = a", "column 2: '[' is not used here; .* name a single bit"),
    ("q = {a, b}", "column 5: '{' is not used here; .* give every bit an output of its own"),
    ("q = 1", "column 5: the number '1' is no one-bit constant; write 1'b0 or 1'b1"),
    ("q = 0", "column 5: the number '0' is no one-bit constant; write 1'b0 or 1'b1"),
    ("q = 2'b01", 'column 5: the number "2\'b01" is no one-bit constant'),
    ("q = 1'b01", 'column 5: the number "1\'b01" is no one-bit constant'),
    ("q = 1'bx", 'column 5: the number "1\'bx" is no one-bit constant'),
    ("q = 1'h1", 'column 5: the number "1\'h1" is no one-bit constant'),
    ("q = 'b1", 'column 5: the number "\'b1" is no one-bit constant'),
    ("q = 2a", "column 5: the number '2a' is no one-bit constant; .* names begin with a letter"),
    ("q = a'", 'column 6: "\'" is not used here; write ~a for not a'),
    ("q = a, r = b", "column 6: ',' is not used here; separate assignments with ;"),
    ('q = "a"', "column 5: '\"' is not used here; write names without quotes"),
    ("q = \\a ", r"column 5: '\\\\' is not used here; escaped identifiers are not read"),
    ("q = a.b", "column 6: '.' is not used here; use letters, digits, _ and $ in names"),
    ("q = a @ b", "column 7: '@' is not used here; use names, ~ & | ^ ~^ ?:"),
    ("q = a /* b", "column 7: a comment that is not closed; end it with */"),
]


@pytest.mark.parametrize(("text", "message"), WRONG, ids=[text for text, _ in WRONG])
def test_what_is_wrong_is_pointed_at(text: str, message: str) -> None:
    pattern = message if "\\" in message else re.escape(message).replace(r"\.\*", ".*")
    with pytest.raises(InputError) as caught:
        parse_function(text)
    assert re.match(pattern, str(caught.value)), str(caught.value)


def test_a_caret_stands_below_the_character() -> None:
    with pytest.raises(InputError) as caught:
        parse_function("c = a & b\nq = a ^^ b\n")
    assert str(caught.value).split("\n")[1:] == [
        "  q = a ^^ b",
        "         ^",
    ]


@given(st.integers(0, 200), st.integers(0, 200))
def test_the_caret_finds_its_character_in_a_long_line(before: int, after: int) -> None:
    text = "q = " + "a ^ " * before + "!" + "a ^ " * after + "a"
    with pytest.raises(InputError) as caught:
        parse_function(text)
    _, excerpt, caret = str(caught.value).split("\n")
    assert excerpt[caret.index("^")] == "!"
    assert len(excerpt) < 100


def test_inputs_that_are_listed() -> None:
    with pytest.raises(InputError, match=r"column 9: 'bb' is neither an input .* mean 'b'\?"):
        parse_function("q = a ^ bb", ["a", "b"])
    with pytest.raises(InputError, match=r"inputs\[1\]: 'q' is an input and an output; rename"):
        parse_function("q = a", ["a", "q"])
    with pytest.raises(InputError, match=r"inputs\[1\]: the input 'a' is listed twice"):
        parse_function("q = a", ["a", "a"])
    with pytest.raises(InputError, match=r"inputs\[0\]: 'a-b' is no name for a pin"):
        parse_function("q = a", ["a-b"])


def test_outputs_by_name() -> None:
    function = parse_outputs({"q": "a ^ b", "r": "\n~q\n"})
    assert function == BooleanFunction(("a", "b"), {"q": "0110", "r": "1001"})
    with pytest.raises(InputError, match=r"outputs\.q, column 3: 'b' where an operator"):
        parse_outputs({"q": "a b"})
    with pytest.raises(InputError, match=r"outputs\.q, column 1: the end where a name"):
        parse_outputs({"q": ""})
    with pytest.raises(InputError, match=r"outputs\.q, column 3: '=' where an operator"):
        parse_outputs({"q": "q = a"})
    with pytest.raises(InputError, match=r"outputs\.q, column 2: ';' where an operator"):
        parse_outputs({"q": "a; r = b"})
    with pytest.raises(InputError, match=r"outputs\.r, column 1: 'q' depends on itself: q -> r"):
        parse_outputs({"q": "r", "r": "q"})
    with pytest.raises(InputError, match=r"outputs\.0: '0' is no name for a pin"):
        parse_outputs({"0": "a"})


@given(st.text(max_size=30) | st.text("abq=~&|^?:();' \n1b0/*", max_size=30))
def test_any_text_is_a_function_or_one_clear_error(text: str) -> None:
    problem = None
    try:
        function = parse_function(text)
    except InputError as error:
        problem = error
    if problem is None:
        assert function.outputs
    else:
        assert problem.place
        assert problem.way_out


def test_a_bit_of_a_bus_is_a_name() -> None:
    function = parse_function("s[0] = a[0] ^ b[10]")
    assert function.inputs == ("a[0]", "b[10]")
    assert dict(function.outputs) == {"s[0]": "0110"}
