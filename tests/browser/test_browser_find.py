"""Finding things in the built demo, opened by file:// in a real Chromium: search, lookup, plots.

The ``visit`` fixture fails a test whose pages ask for anything but files or whose console
complains.
"""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from playwright.sync_api import expect

from coilbook.publish import BuildReport
from coilbook.publish.scripts.lookup_data import fold

pytestmark = pytest.mark.browser

PLOTS = "figure[data-cb-plot]"


def search(page: Any, words: str) -> Any:
    """Type words into the search box and return the results once they have come to rest.

    Every letter is a query of its own, so results of fewer letters stand there for a moment.
    """
    page.get_by_role("textbox", name="Find a family, a piece, a wire").click()
    page.keyboard.type(words, delay=15)
    page.locator(".cb-search__meta", has_text=re.compile("found|Nothing")).wait_for()
    page.evaluate(
        """() => new Promise(done => {
            const output = document.querySelector(".cb-search__output");
            let timer = setTimeout(finish, 400);
            const watch = new MutationObserver(() => {
                clearTimeout(timer);
                timer = setTimeout(finish, 400);
            });
            function finish() { watch.disconnect(); done(); }
            watch.observe(output, { childList: true, subtree: true, characterData: true });
        })"""
    )
    return page.locator(".md-search-result__item")


@pytest.mark.parametrize("screen", ["phone"])
def test_search_finds_a_family_by_typing(visit: Any, screen: str) -> None:
    """A family's name leads to its page: the worker's stand-in runs where workers are refused."""
    window = visit(screen)
    page = window.go("methods/index.html")
    assert not window.loaded("search_index")
    results = search(page, "small humbuck")
    results.locator("a", has_text="Small humbucker").first.click()
    page.wait_for_url("**/families/small-humbucker/index.html*")
    assert page.locator("h1:visible").inner_text() == "Small humbucker"


@pytest.mark.parametrize("screen", ["desk"])
def test_search_finds_a_piece_by_its_id_and_enter(
    visit: Any, pieces: dict[str, list[object]], screen: str
) -> None:
    """A piece's id and the Enter key lead to the piece."""
    piece_id = str(pieces["id"][-1])
    page = visit(screen).go("index.html")
    results = search(page, piece_id)
    expect(results.first).to_contain_text(piece_id)
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/pieces/{piece_id}/index.html*")
    assert piece_id in page.locator("h1:visible").inner_text()


def test_search_finds_wires_magnets_and_prose(visit: Any) -> None:
    """What is neither family nor piece is found as well."""
    page = visit().go("index.html")
    for words, url in (
        ("42 AWG", "materials/wires"),
        ("remanence", "materials/magnets"),
        ("cautions", "cautions"),
    ):
        results = search(page, words)
        expect(results.locator(f"a[href*='{url}/index.html']").first).to_be_attached()
        page.get_by_role("button", name="Clear the search box").click()


def test_search_works_by_arrow_keys_and_shuts_by_escape(visit: Any) -> None:
    """The arrows go into the results and back, Escape shuts them, clearing empties the box."""
    page = visit().go("index.html")
    search(page, "humbucker")
    page.keyboard.press("ArrowDown")
    assert page.evaluate("document.activeElement.matches('.cb-search__list a')")
    page.keyboard.press("ArrowUp")
    assert page.evaluate("document.activeElement.name") == "query"
    page.keyboard.press("Escape")
    assert not page.locator(".cb-search__output").is_visible()
    page.get_by_role("button", name="Clear the search box").click()
    assert page.locator("[name=query]").input_value() == ""


def test_a_search_for_nothing_says_so(visit: Any) -> None:
    """Words that stand nowhere are told plainly."""
    page = visit().go("index.html")
    expect(search(page, "xyzzyq")).to_have_count(0)
    assert page.locator(".cb-search__meta").inner_text().startswith("Nothing found")


def found_ids(page: Any) -> list[str]:
    """Return the ids in the lookup's table."""
    ids: list[str] = page.locator("#cb-lookup-results tbody tr td:first-child").all_inner_texts()
    return ids


@pytest.mark.parametrize("screen", ["phone"])
def test_lookup_finds_a_piece_and_keeps_the_query(
    visit: Any, pieces: dict[str, list[object]], screen: str
) -> None:
    """Typing narrows the table; the address keeps the query; the row leads to the piece."""
    wanted = str(pieces["id"][2])
    window = visit(screen)
    page = window.go("pieces/index.html")
    page.locator("#cb-lookup-results tbody tr").first.wait_for()
    page.locator("#cb-lookup [name=words]").press_sequentially(wanted.upper())
    assert found_ids(page) == [wanted]
    assert page.locator("#cb-lookup-count").inner_text() == f"1 piece of {len(pieces['id'])}"
    labels = page.locator("#cb-lookup-results tbody td").evaluate_all(
        "all => all.map(td => td.dataset.label)"
    )
    assert labels == ["Piece", "Family", "Position", "Years", "kΩ at 20 °C", "State"]

    query = page.url.partition("#")[2]
    shared = window.go(f"pieces/index.html#{query}")
    shared.locator("#cb-lookup-results tbody tr").first.wait_for()
    assert shared.locator("#cb-lookup [name=words]").input_value() == wanted.upper()
    assert found_ids(shared) == [wanted]
    shared.locator("#cb-lookup-results tbody a").click()
    assert wanted in shared.locator("h1:visible").inner_text()


def test_lookup_combines_family_years_and_resistance(
    visit: Any, pieces: dict[str, list[object]]
) -> None:
    """Every part of a query narrows: the ids are those that a plain loop over the data finds."""
    family = "full-size-humbucker"
    expected = [
        piece_id
        for piece_id, fam, first, last, kohm in zip(
            pieces["id"], pieces["family"], pieces["year_first"], pieces["year_last"],
            pieces["kohm"], strict=True,
        )
        if fam == family and first is not None and first <= 1960 and last >= 1958  # type: ignore[operator]
        and kohm is not None and 7.5 <= kohm <= 8.2  # type: ignore[operator]
    ]  # fmt: skip
    assert expected
    page = visit().go("pieces/index.html")
    page.locator("#cb-lookup-results tbody tr").first.wait_for()
    page.select_option("#cb-lookup [name=family]", family)
    for name, text in (("year_from", "1958"), ("year_to", "1960"), ("kohm_low", "7,5")):
        page.fill(f"#cb-lookup [name={name}]", text)
    page.fill("#cb-lookup [name=kohm_high]", "8.2")
    assert found_ids(page) == expected[:50]
    page.locator("#cb-lookup [type=reset]").click()
    page.wait_for_function("location.hash === '' || location.hash === '#'")
    assert page.locator("#cb-lookup-count").inner_text() == f"All {len(pieces['id'])} pieces"


def test_lookup_shows_25_and_then_more(visit: Any, pieces: dict[str, list[object]]) -> None:
    """A long list comes in steps of 25, and the focus goes on at the first new row."""
    total = len(pieces["id"])
    assert total > 50
    page = visit().go("pieces/index.html")
    page.locator("#cb-lookup-results tbody tr").first.wait_for()
    assert len(found_ids(page)) == 25
    page.locator("#cb-lookup-more").click()
    assert len(found_ids(page)) == 50
    assert page.evaluate("document.activeElement.textContent") == pieces["id"][25]


def test_a_query_that_nothing_fits_says_so(visit: Any) -> None:
    """No table is shown where none would have rows."""
    page = visit().go("pieces/index.html#words=xyzzyq")
    page.locator("#cb-lookup-count", has_text="No piece fits").wait_for()
    assert not page.locator("#cb-lookup-results").is_visible()


def test_the_first_page_hands_its_query_to_the_lookup(
    visit: Any, pieces: dict[str, list[object]]
) -> None:
    """What is typed into the first page's form is looked up on the lookup page."""
    wanted = str(pieces["id"][1])
    page = visit().go("index.html")
    page.locator("main form [name=words]").fill(wanted)
    page.locator("main form [type=submit]").click()
    page.locator("#cb-lookup-results tbody tr").first.wait_for()
    assert found_ids(page) == [wanted]


def test_folding_is_the_same_in_page_and_builder(visit: Any) -> None:
    """The page folds what people type just as the builder folded the records (a shared vector)."""
    vectors = [
        "Désoldered COVER, re-fitted", "tb-0001", "7.82 kΩ", "ﬁne Ångström_½", "STRASSE Straße",
        "İstanbul ıI", "1 15/16 in", "naïve—dash…", "Ⅷ ²³", "中文 кабель", "", "  a  b ",
    ]  # fmt: skip
    page = visit().go("pieces/index.html")
    folded = page.evaluate("all => all.map(coilbook.lookup.fold)", vectors)
    assert folded == [fold(text) for text in vectors]


def test_a_lookup_goes_through_its_pieces_once(visit: Any) -> None:
    """Words and limits together are looked up in one pass that makes no text.

    The query is folded once, the pieces' words were when the site was built; a piece's words are
    read only if it fits the limits, and no column is read twice for one piece.
    """
    page = visit().go("pieces/index.html")
    page.locator("#cb-lookup-results tbody tr").first.wait_for()
    read, folded, found, fitting, count = page.evaluate(
        """() => {
            const from = coilbook.pieces, data = {}, read = {};
            for (const name of Object.keys(from)) {
                data[name] = !Array.isArray(from[name]) ? from[name] : new Proxy(from[name], {
                    get(column, at) {
                        if (typeof at === "string" && /^[0-9]+$/.test(at)) {
                            read[name] = (read[name] || 0) + 1;
                        }
                        return Reflect.get(column, at);
                    },
                });
            }
            const normalize = String.prototype.normalize;
            let folded = 0;
            String.prototype.normalize = function (form) {
                folded += 1;
                return normalize.call(this, form);
            };
            const limits = { year_from: "1950", kohm_low: "3" };
            const found = coilbook.lookup.find(data, { words: "bridge untouch", ...limits }).length;
            String.prototype.normalize = normalize;
            const fitting = coilbook.lookup.find(from, limits).length;
            return [read, folded, found, fitting, from.id.length];
        }"""
    )
    assert 0 < found < fitting < count
    assert folded <= 2
    assert read["words"] == fitting
    assert set(read) == {"words", "year_last", "kohm"}
    assert max(read.values()) <= 2 * count


def with_plots(site: BuildReport) -> str:
    """Return the longest page that has plots: there they stand well below the first screen."""
    pages = (site.out / "families").glob("*/index.html")
    for path in sorted(pages, key=lambda path: -path.stat().st_size):
        if "data-cb-plot" in path.read_text(encoding="utf-8"):
            return path.relative_to(site.out).as_posix()
    pytest.fail("No family of the demo has a plot.")


@pytest.mark.parametrize("screen", ["phone"])
def test_plots_are_drawn_when_they_near_the_screen(
    visit: Any, demo_site: BuildReport, screen: str
) -> None:
    """The plotting script is not asked for before a plot is near; then that and the next are drawn.

    Drawn plots take the dark scheme's colours when the scheme changes.
    """
    window = visit(screen, color_scheme="light")
    page = window.go(with_plots(demo_site))
    page.wait_for_timeout(300)
    far = page.locator(PLOTS).first.bounding_box()["y"]
    assert far > page.viewport_size["height"] + 400
    assert not window.loaded("plotly")

    plots = page.locator(PLOTS)
    for i in range(min(2, plots.count())):
        plots.nth(i).scroll_into_view_if_needed()
        plots.nth(i).locator(".main-svg").first.wait_for()
    assert window.loaded("assets/plotly/plotly.min.js")
    assert sum("plotly" in url for url in window.requests) == 1
    assert page.locator(f"{PLOTS} .modebar").count() == 0
    assert "var:--" not in page.locator(PLOTS).first.inner_html().split("</script>")[-1]
    assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")

    light = page.locator(".xtick text").first.evaluate("text => getComputedStyle(text).fill")
    page.get_by_role("button", name="Dark colours").click()
    page.wait_for_function(
        "light => getComputedStyle(document.querySelector('.xtick text')).fill !== light", arg=light
    )


def test_colours_are_put_in_by_role_without_touching_the_figure(visit: Any) -> None:
    """Only strings that name a role change, at any depth, and the figure itself stays as it was."""
    figure = {
        "data": [{"x": [1, None], "marker": {"color": "var:--cb-ink"}}],
        "layout": {"t": "var"},
    }
    page = visit().go("index.html")
    resolved, same = page.evaluate(
        """figure => {
            const before = JSON.stringify(figure);
            const out = coilbook.plots.resolve(figure, name => "<" + name + ">");
            return [out, before === JSON.stringify(figure)];
        }""",
        figure,
    )
    assert same
    expected = json.loads(json.dumps(figure).replace("var:--cb-ink", "<--cb-ink>"))
    assert resolved == expected
