"""The atlas page: each cell says what the store says, and the script shows the same."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from synth.library import Store
from synth.views.catalogue import MARKER, Gate, gates_of, items_of, site_files, write_folder
from synth.views.catalogue.atlas_page import SIGNS, atlas_html
from tests.views.browsing import DESKTOP, PHONE, overflow, watched

ROW = re.compile(r'<tr><th scope="row"><a href="gates/(.+?)\.html">(.+?)</a></th>(.*?)</tr>', re.S)


def data_of(page: str) -> Any:
    return json.loads(page.split('id="data">')[1].split("</script>")[0])


def test_each_answer_stands_in_its_box(gates: list[Gate]) -> None:
    data = data_of(atlas_html(gates, "Gates"))
    sizes = [tuple(size) for size in data["sizes"]]
    assert sizes == sorted(sizes, key=lambda size: (size[0] * size[1] * size[2], size))
    by_slug = {slug: answers for _, slug, _, _, answers in data["rows"]}
    shown = 0
    for gate in gates:
        for column, sign, delay, link, out, known in by_slug[gate.slug].values():
            items = [
                item
                for item in gate.items
                if (item.layout is None) == (column is None)
                and (column is None or item.layout.size == sizes[column])
            ]
            assert items
            assert column not in out
            if column is None:
                assert known in ("no layout under the limits asked", "undecided")
                continue
            shown += 1
            matching = [item for item in items if item.entry.delay == delay]
            assert any(item.entry.proven == (sign == "smallest") for item in matching)
            assert link.startswith(f"gates/{gate.slug}.html#layout-")
    assert shown > 3


def test_ruled_out_is_what_the_store_keeps(store_path: Path, gates: list[Gate]) -> None:
    with Store(store_path) as store:
        kept = {
            number: {answer.question.size for answer in store.ruled_out(store.asked(number))}
            for number in store.numbers()
        }
    data = data_of(atlas_html(gates, "Gates"))
    sizes = [tuple(size) for size in data["sizes"]]
    crosses = 0
    for gate, (_, slug, _, _, answers) in zip(gates, data["rows"], strict=True):
        assert slug == gate.slug
        own = set().union(*(kept[item.number] for item in gate.items))
        for answer in answers.values():
            crosses += len(answer[4])
            for length, width, height in (sizes[column] for column in answer[4]):
                taller = {size[2] for size in own if size[:2] == (length, width)}
                assert max(taller) >= height
    assert crosses


def test_the_page_without_a_script_is_the_first_kind(gates: list[Gate]) -> None:
    page = atlas_html(gates, "Gates")
    data = data_of(page)
    rows = {slug: cells for slug, _, cells in ROW.findall(page)}
    expected = {slug for _, slug, _, _, answers in data["rows"] if "0" in answers}
    assert set(rows) == expected
    for _, slug, _, _, answers in data["rows"]:
        if slug in rows:
            column, sign, _, _, out, _ = answers["0"]
            cells = re.findall(r"<td.*?</td>", rows[slug], re.S)[:-1]
            assert [at for at, cell in enumerate(cells) if SIGNS["out"] in cell] == out
            if column is not None:
                assert SIGNS[sign] in cells[column]


def test_a_catalogue_without_answers_has_an_empty_atlas() -> None:
    assert data_of(atlas_html([], "Gates"))["rows"] == []


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    with watched(browser, viewport=DESKTOP) as page:
        yield page


def opened(page: Page, site: Path) -> Page:
    page.goto((site / "atlas.html").as_uri())
    page.wait_for_selector("body.is-ready")
    return page


def names(page: Page) -> list[str]:
    return page.locator("#atlas tbody th a").all_inner_texts()


def test_the_script_filters_and_a_click_leads_to_the_layout(page: Page, site: Path) -> None:
    opened(page, site)
    plain = {title for _, title, _ in ROW.findall((site / "atlas.html").read_text("utf-8"))}
    assert set(names(page)) == plain
    page.fill('[name="text"]', "nor")
    assert names(page) == ["nor2"]
    page.fill('[name="text"]', "")
    page.select_option('[name="fits"]', index=1)
    fitting = names(page)
    assert len(fitting) < len(plain)
    page.select_option('[name="fits"]', index=0)
    page.locator("#atlas .is-smallest a").first.click()
    # A page that is left while its pictures load complains of them.
    page.wait_for_url(re.compile(r"gates/.+\.html#layout-\d+$"))
    page.wait_for_load_state("networkidle")
    page.go_back()
    page.wait_for_selector("body.is-ready")
    asks = page.locator('[name="ask"] option').count()
    assert asks > 1
    page.select_option('[name="ask"]', index=asks - 1)
    assert names(page)


def test_only_boxes_that_say_something_have_a_column(page: Page, site: Path) -> None:
    opened(page, site)
    every_column = page.locator("#atlas thead th").count()
    page.fill('[name="text"]', "nor")
    columns = page.locator("#atlas thead th:visible").count()
    assert columns < every_column
    assert page.locator("#atlas tbody tr").first.locator("th, td").count() == columns
    signs = page.locator("#atlas tbody td:not(.known)").all_inner_texts()
    assert all(signs)


def test_on_paper_stand_all_rows_and_what_was_asked(page: Page, site: Path) -> None:
    opened(page, site)
    page.emulate_media(media="print")
    scroll = page.locator(".atlas-scroll")
    assert scroll.evaluate("box => box.scrollHeight <= box.clientHeight")
    assert scroll.evaluate("box => getComputedStyle(box).overflow") == "visible"
    asked = page.locator('[name="ask"] option').first.text_content()
    assert page.locator("#asked").inner_text() == asked


def test_the_atlas_fits_a_phone(browser: Browser, site: Path) -> None:
    with watched(browser, viewport=PHONE) as page:
        opened(page, site)
        assert overflow(page) <= 0


def test_names_that_could_end_an_element_are_text(
    store_path: Path, tmp_path: Path, gates: list[Gate]
) -> None:
    page = atlas_html(gates, "<script>alert(1)</script>")
    assert "<script>alert" not in page
    with Store(store_path) as store:
        again = gates_of(items_of(store))
    write_folder(tmp_path / "pages", site_files(again, title="Again"), marker=MARKER)
    assert (tmp_path / "pages" / "atlas.html").is_file()
