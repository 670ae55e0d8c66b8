"""The catalogue in a real browser: headless Chromium, opened as files."""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Browser, Page, expect

from synth.spec.expression import parse_function
from synth.views.catalogue import Gate
from tests.views.browsing import DESKTOP, PHONE, overflow, watched
from tests.views.contrast import contrast


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A page of a browser that must complain of nothing and ask for nothing but files."""
    with watched(browser) as page:
        yield page


@pytest.fixture
def phone(browser: Browser) -> Iterator[Page]:
    with watched(browser, viewport=PHONE, has_touch=True, is_mobile=True) as page:
        yield page


CUT = """() => [...document.querySelectorAll("#gates th, #gates td")]
    .filter((cell) => cell.scrollWidth > cell.clientWidth + 1).map((cell) => cell.innerText)"""
"""A script that lists the cells of the index whose words are cut or stick out."""


def opened(page: Page, site: Path, fragment: str = "") -> Page:
    page.goto((site / "index.html").as_uri() + fragment)
    page.wait_for_selector("body.is-ready")
    return page


def titles(page: Page) -> list[str]:
    return page.locator("#gates tbody tr:visible th a").all_inner_texts()


@pytest.fixture(scope="module")
def index(browser: Browser, site: Path) -> Iterator[Page]:
    """A page for all tests of the index that ask no more than its script."""
    with watched(browser) as page:
        yield opened(page, site)


def column(page: Page, key: str) -> list[str]:
    return page.locator(f"#gates tbody tr:visible .c-{key}").all_inner_texts()


def test_the_index_lists_every_gate(page: Page, site: Path, gates: list[Gate]) -> None:
    opened(page, site)
    assert titles(page) == [gate.title for gate in gates]
    # The script writes the same figures as the page was made with.
    plain = re.findall(r'<td class="c-volume">(.*?)</td>', (site / "index.html").read_text("utf-8"))
    assert column(page, "volume") == plain


@pytest.mark.parametrize(
    ("name", "value", "keeps"),
    [
        ("inputs", "2", lambda gate, item: gate.inputs == 2),
        ("outputs", "2", lambda gate, item: len(gate.columns) == 2),
        ("delay", "0", lambda gate, item: item and item.entry.delay <= 0),
        ("volume", "4", lambda gate, item: item and item.entry.volume <= 4),
        ("width", "1", lambda gate, item: item and item.entry.width <= 1),
        ("stack", "stacks along y", lambda gate, item: item and item.entry.stack == "y"),
        ("joint", "wire", lambda gate, item: item and item.entry.joints == "wire"),
        ("proof", "smallest", lambda gate, item: item and item.entry.proven),
        ("proof", "best known", lambda gate, item: item and not item.entry.proven),
        ("proof", "without any layout", lambda gate, item: item is None),
    ],
)
def test_each_filter_keeps_what_it_says(
    index: Page, site: Path, gates: list[Gate], name: str, value: str, keeps: Any
) -> None:
    page = opened(index, site)
    field = page.locator(f'[name="{name}"]')
    if name == "volume":
        field.fill(value)
    elif name in ("delay", "width"):
        field.select_option(value)
    else:
        field.select_option(label=value)
    wanted = {
        gate.title: [item for item in gate.layouts if keeps(gate, item)]
        for gate in gates
        if any(keeps(gate, item) for item in (*gate.layouts, *([] if gate.layouts else [None])))
    }
    assert titles(page) == list(wanted)
    volumes = [
        str(min(item.entry.volume or 0 for item in items)) if items else "\N{EN DASH}"
        for items in wanted.values()
    ]
    assert column(page, "volume") == volumes
    assert page.locator("#count").inner_text().startswith(str(len(wanted)))


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("OR2", {"or2", "nor2", "xor2"}),
        ("x1^x2", {"xor2", "half-adder"}),
        ("~(x1 | x2)", {"nor2"}),
        ("a ^ b", {"xor2", "half-adder"}),
        ("x2 ^ x1", {"xor2", "half-adder"}),
        ("q = ~(b ^~ a)", {"xor2", "half-adder"}),
        ("s = u ^ v; c = v & u", {"half-adder"}),
        ("~p & r", {"does-not-imply2"}),
        ("b ? 1'b1 : a", {"or2"}),
        ("imply", {"does-not-imply2"}),
        ("a ^ b ^ c", set()),
    ],
)
def test_names_and_expressions_are_found(
    index: Page, site: Path, text: str, found: set[str]
) -> None:
    page = opened(index, site)
    page.get_by_label("Name or expression").fill(text)
    assert set(titles(page)) == found


@given(st.recursive(
    st.sampled_from(["a", "b", "c_1", "1'b0", "1'b1"]),
    lambda inner: st.one_of(
        inner.map(lambda one: f"~{one}"),
        st.tuples(inner, st.sampled_from(["&", "|", "^", "~^", "^~"]), inner).map(" ".join),
        inner.map(lambda one: f"({one})"),
        st.tuples(inner, inner, inner).map(lambda three: "({} ? {} : {})".format(*three)),
    ),
    max_leaves=6,
))  # fmt: skip
@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
def test_the_script_reads_expressions_as_the_parser_does(index: Page, text: str) -> None:
    """Two readings of the same operators: the page's own, and that of ``Spec.parse``."""
    found = index.evaluate(
        "(text) => { const t = Expression.tables(text); return t && [t.inputs, [...t.whole]]; }",
        f"q = {text}",
    )
    function = parse_function(f"q = {text}")
    orders = permutations(range(len(function.inputs)))
    tables = {function.permuted(order).outputs["q"] for order in orders}
    assert found is not None
    assert found[0] == len(function.inputs)
    assert set(found[1]) == tables


@pytest.mark.parametrize(
    "text", ["a &", "& a", "a b", "(a", "a ? b", "q = ", "mux2", "0110", "a=b=c"]
)
def test_what_is_no_expression_is_searched_as_text(index: Page, text: str) -> None:
    assert index.evaluate("(text) => Expression.tables(text)", text) is None


def test_filters_join_and_are_cleared(index: Page, site: Path, gates: list[Gate]) -> None:
    page = opened(index, site)
    page.get_by_label("Name or expression").fill("or2")
    page.locator("[name=stack]").select_option(label="stacks along y")
    assert titles(page) == ["xor2", "or2"]
    page.locator("[name=delay]").select_option("0")
    assert titles(page) == ["or2"]
    page.get_by_label("Name or expression").fill("no such gate")
    expect(page.locator("#nothing")).to_be_visible()
    page.get_by_role("button", name="Clear all filters").click()
    expect(page.locator("#nothing")).to_be_hidden()
    assert len(titles(page)) == len(gates)


def test_headings_sort_both_ways_and_what_has_no_figure_is_last(index: Page, site: Path) -> None:
    page = opened(index, site)
    for down in (False, True):
        page.get_by_role("button", name="Sort by volume of the smallest").click()
        values = [int(text) for text in column(page, "volume") if text.isdigit()]
        assert len(values) > 2
        assert values == sorted(values, reverse=down)
        assert not column(page, "volume")[-1].isdigit()
        heading = page.locator("th.c-volume[scope=col]")
        assert heading.get_attribute("aria-sort") == ("descending" if down else "ascending")


def test_the_way_back_from_a_gate_leads_to_the_same_list(page: Page, site: Path) -> None:
    opened(page, site)
    page.locator("[name=stack]").select_option(label="stacks along y")
    page.get_by_role("button", name="Sort by volume of the smallest").click()
    before = titles(page)
    page.locator("#gates tbody a").first.click()
    page.wait_for_url("**/gates/*.html")
    page.go_back()
    page.wait_for_selector("body.is-ready")
    assert titles(page) == before
    assert page.locator("[name=stack]").input_value() != ""


def test_a_hand_on_the_keyboard_gets_everywhere(page: Page, site: Path) -> None:
    opened(page, site)
    page.keyboard.press("Tab")
    assert page.locator(":focus").inner_text() == "Skip to the gates"
    page.keyboard.press("Enter")
    # The skip leads past the filters and clears none of them.
    page.keyboard.press("Tab")
    assert page.locator(":focus").inner_text() == "Gate"
    page.keyboard.press("Enter")
    assert titles(page) == sorted(titles(page), key=str.lower)
    for _ in range(20):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.tagName") == "A":
            break
    page.keyboard.press("Enter")
    page.wait_for_url("**/gates/*.html")


def test_a_layout_is_looked_at_and_played(page: Page, site: Path, gates: list[Gate]) -> None:
    opened(page, site)
    page.get_by_role("link", name="nor2").click()
    page.get_by_role("link", name="View and play").first.click()
    page.wait_for_selector("body.is-ready")
    assert page.locator("#canvas canvas").first.is_visible()
    light = page.locator('.output[data-output="y1"] .bit')
    assert light.inner_text() == "1"
    page.locator('.switch[data-input="x1"]').click()
    last = page.locator("#tick").get_attribute("max")
    page.locator("#tick").fill(str(last))
    expect(light).to_have_text("0")
    page.locator("nav.back a").click()
    page.wait_for_url("**/gates/*.html#layout-*")
    (nor,) = (gate for gate in gates if gate.title == "nor2")
    assert page.url.endswith(f"#layout-{nor.layouts[0].number}")


def test_every_page_fits_a_phone(phone: Page, site: Path) -> None:
    paths = [site / "index.html", *sorted((site / "gates").iterdir())]
    paths.append(next((site / "layouts").glob("*.html")))
    for path in paths:
        phone.goto(path.as_uri())
        phone.wait_for_load_state("load")
        assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"], path


def test_no_width_makes_a_page_scroll_sideways(page: Page, site: Path, gates: list[Gate]) -> None:
    for path in (site / "index.html", *sorted((site / "gates").iterdir())):
        page.goto(path.as_uri())
        for width in (320, 820, 1100):
            page.set_viewport_size({"width": width, "height": 800})
            assert overflow(page) <= 0, (path.name, width)
            assert page.evaluate(CUT) == [], (path.name, width)


@pytest.mark.parametrize("word", ["undecided", "impossible", "17 of 18 smallest"])
def test_words_of_proof_fit_their_column(word: str, page: Page, site: Path) -> None:
    opened(page, site)
    cell = page.locator("#gates tbody .c-proof").first
    cell.evaluate("(cell, word) => cell.innerText = word", word)
    for width in (320, 360, 390, 400, 760):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate(CUT) == [], width


def test_a_printed_list_keeps_its_units_and_its_width(page: Page, site: Path) -> None:
    page.set_viewport_size({"width": 680, "height": 900})
    opened(page, site)
    page.emulate_media(media="print")
    assert overflow(page) <= 0
    assert page.evaluate(CUT) == []
    assert page.locator("#gates thead .unit").first.is_visible()
    assert not page.locator(".go").first.is_visible()


def test_the_list_shows_the_smallest_and_the_fastest_layout(
    page: Page, site: Path, gates: list[Gate]
) -> None:
    opened(page, site)
    for place, gate in enumerate(gates):
        row = page.locator("#gates tbody tr").nth(place)
        if gate.smallest is None or gate.fastest is None:
            assert row.locator("img").count() == 0
            continue
        small, fast = gate.smallest.entry, gate.fastest.entry
        told = [row.locator(f".c-{key}").inner_text() for key in (
            "volume", "volume-delay", "delay", "delay-volume"
        )]  # fmt: skip
        assert told == [str(n) for n in (small.volume, small.delay, fast.delay, fast.volume)]
        # A picture may come later than the page on a busy machine.
        drawn = "(img) => img.decode().then(() => img.naturalWidth > 0)"
        assert row.locator("img").evaluate(drawn)


def test_what_folds_is_open_in_print(page: Page, site: Path, gates: list[Gate]) -> None:
    bare = next(gate for gate in gates if gate.others and not gate.layouts)
    page.goto((site / "gates" / f"{bare.slug}.html").as_uri())
    words = page.locator(".others pre").first
    assert not words.is_visible()
    page.emulate_media(media="print")
    assert words.evaluate("(node) => node.checkVisibility({ contentVisibilityAuto: true })")


def test_on_a_phone_the_list_comes_before_the_filters(phone: Page, site: Path) -> None:
    opened(phone, site)
    inputs = phone.locator("[name=inputs]")
    expect(inputs).to_be_hidden()
    phone.locator("#more summary").tap()
    expect(inputs).to_be_visible()
    inputs.select_option("2")
    phone.locator("[name=sort]").select_option("volume")
    values = [int(text) for text in column(phone, "volume") if text.isdigit()]
    assert values == sorted(values)


def test_all_is_read_without_a_script(browser: Browser, site: Path, gates: list[Gate]) -> None:
    with watched(browser, viewport=DESKTOP, java_script_enabled=False) as page:
        page.goto((site / "index.html").as_uri())
        assert titles(page) == [gate.title for gate in gates]
        expect(page.locator("#filters")).to_be_hidden()
        page.get_by_role("link", name="nor2").click()
        assert page.locator(".truth tbody tr").count() == 4
        assert page.locator(".card").count() == 1
        assert drawn(page) > 0.02


def drawn(page: Page) -> float:
    """The part of the drawing that is not paper: it must show something."""
    shot = base64.b64encode(page.locator(".face .drawing").screenshot()).decode("ascii")
    reader = page.context.browser.new_page()  # type: ignore[union-attr]
    count = reader.evaluate(
        """async (shot) => {
            const image = new Image();
            image.src = "data:image/png;base64," + shot;
            await image.decode();
            const board = new OffscreenCanvas(image.width, image.height).getContext("2d");
            board.drawImage(image, 0, 0);
            const bytes = board.getImageData(0, 0, image.width, image.height).data;
            let dark = 0;
            for (let at = 0; at < bytes.length; at += 4) dark += bytes[at] < 220;
            return dark / (bytes.length / 4);
        }""",
        shot,
    )
    reader.close()
    return float(count)


def test_colours_can_be_read_by_day_and_by_night(browser: Browser, site: Path) -> None:
    for scheme in ("light", "dark"):
        with watched(browser, viewport=DESKTOP, color_scheme=scheme) as page:
            page.goto((site / "index.html").as_uri())
            names = ("paper", "sheet", "band", "ink", "soft", "blue", "open")
            read = "getComputedStyle(document.documentElement).getPropertyValue('--%s').trim()"
            colours = {name: page.evaluate(read % name) for name in names}
            for ink in ("ink", "soft", "blue", "open"):
                for paper in ("paper", "sheet", "band"):
                    assert contrast(colours[ink], colours[paper]) >= 4.5, (scheme, ink, paper)
