"""The notebook of the docs is run, cell by cell, and shows what it says; no notebook server needed.

After a change of what it shows: GATEFIT_UPDATE_GOLDEN=1, then look at it.
"""

from __future__ import annotations

import ast
import io
import json
import os
from contextlib import chdir, redirect_stdout
from pathlib import Path
from typing import Any

import pytest

DOCS = Path(__file__).parents[1] / "docs"
NOTEBOOK = DOCS / "exclusive_or.ipynb"


def run_cell(source: str, names: dict[str, Any]) -> tuple[str, Any]:
    """What a cell prints, and the value of its last line if that is an expression."""
    tree = ast.parse(source)
    last = tree.body.pop() if isinstance(tree.body[-1], ast.Expr) else None
    printed = io.StringIO()
    with redirect_stdout(printed):
        exec(compile(tree, "cell", "exec"), names)
        value = None
        if last is not None:
            assert isinstance(last, ast.Expr)
            value = eval(compile(ast.Expression(last.value), "cell", "eval"), names)
    return printed.getvalue(), value


def outputs_of(printed: str, value: Any, count: int) -> list[dict[str, Any]]:
    """The outputs of a cell as a notebook keeps them (nbformat 4.5, from memory)."""
    outputs: list[dict[str, Any]] = []
    if printed:
        lines = printed.splitlines(keepends=True)
        outputs.append({"name": "stdout", "output_type": "stream", "text": lines})
    if value is not None:
        shown = getattr(value, "_repr_html_", lambda: None)()
        # What a value is as text may be long and differ from run to run; its picture is enough.
        plain = repr(value) if shown is None else f"<{type(value).__name__}>"
        data = {"text/plain": [plain]}
        if shown is not None:
            data["text/html"] = shown.splitlines(keepends=True)
        outputs.append(
            {
                "data": data,
                "execution_count": count,
                "metadata": {},
                "output_type": "execute_result",
            }
        )
    return outputs


@pytest.fixture(scope="module")
def story() -> tuple[list[dict[str, Any]], dict[str, Any], list[list[dict[str, Any]]]]:
    """The code cells, the names after the last of them, and what each gave."""
    document = json.loads(NOTEBOOK.read_text(encoding="utf-8"))
    names: dict[str, Any] = {}
    given = []
    cells = [cell for cell in document["cells"] if cell["cell_type"] == "code"]
    with chdir(DOCS):
        for count, cell in enumerate(cells, start=1):
            printed, value = run_cell("".join(cell["source"]), names)
            given.append(outputs_of(printed, value, count))
    if os.environ.get("GATEFIT_UPDATE_GOLDEN"):
        for count, (cell, outputs) in enumerate(zip(cells, given, strict=True), start=1):
            cell |= {"execution_count": count, "outputs": outputs}
        text = json.dumps(document, indent=1, ensure_ascii=False) + "\n"
        NOTEBOOK.write_text(text, encoding="utf-8")
    return cells, names, given


def test_it_is_a_notebook() -> None:
    document = json.loads(NOTEBOOK.read_text(encoding="utf-8"))
    assert (document["nbformat"], document["nbformat_minor"]) == (4, 5)
    ids = [cell["id"] for cell in document["cells"]]
    assert len(set(ids)) == len(ids)
    for cell in document["cells"]:
        keys = {"cell_type", "id", "metadata", "source"}
        assert set(cell) == keys | (
            {"execution_count", "outputs"} if cell["cell_type"] == "code" else set()
        )


def test_it_tells_what_happens(story: Any) -> None:
    _, names, _ = story
    import synth

    assert synth.check(names["loose"], names["xor"]).passes
    assert not synth.check(names["worse"], names["xor"]).passes
    assert names["smaller"].layout.size == (4, 2, 4)
    assert names["smaller"].verdict.passes
    assert names["less"] == 31
    assert names["nothing"].status == "impossible"
    assert names["report"].passes


def test_its_outputs_are_of_the_kinds_that_a_run_gives(story: Any) -> None:
    """Of the kinds, and not word for word: words and drawings may get better at any time."""
    cells, _, given = story

    def kinds(outputs: list[dict[str, Any]]) -> list[list[str]]:
        return [sorted(output.get("data", output)) for output in outputs]

    for cell, outputs in zip(cells, given, strict=True):
        assert kinds(cell["outputs"]) == kinds(outputs), "".join(cell["source"])


def test_every_value_shows_itself(story: Any) -> None:
    _, _, given = story
    shown = [
        "".join(output["data"]["text/html"])
        for outputs in given
        for output in outputs
        if "text/html" in output.get("data", {})
    ]
    assert len(shown) == 8
    assert all(html.startswith("<div") and "{{" not in html for html in shown)
    assert sum("<svg" in html for html in shown) >= 5
