"""The page that checks a piece, by file:// in a real Chromium: typed, kept, taken in, found again.

What it works out is held against Python by the parity tests; here are its words, its keys, its
drafts and its rows. The ``visit`` fixture fails a test whose pages ask for anything but files, or
whose console complains.
"""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import Any

import pytest
from browser_axe import load_axe, violations
from browser_paper import squeezed
from browser_paper import text as printed_text
from click.testing import CliRunner
from playwright.sync_api import Page, expect

from coilbook.cli import main
from coilbook.commands.compare import Typed, compare_piece
from coilbook.commands.show import PieceInBook
from coilbook.pages import text
from coilbook.publish import BuildReport
from coilbook.resources import dataset_dir

pytestmark = pytest.mark.browser

PATH = "check/index.html"
SCREENS = ("desk", "phone")
FAMILY = "full-size-humbucker"
#: More keys than the longest way between two fields that a test goes by.
FAR = 60
#: How long what follows a key may take.
SOON_MS = 60_000
#: So many pieces of the demo go into the copy that is rebuilt: the other pages are all there.
KEPT_PIECES = 8
READINGS = (
    ("pair-resistance", "pair", "8,12k"),
    ("coil-resistance", "coil_a", "4.16 kΩ"),
    ("coil-resistance", "coil_b", "3960 Ω"),
    ("pole-flux-density", "magnet", "410 G"),
)


@pytest.fixture(scope="module")
def python() -> PieceInBook:
    """Say what the command ``compare`` says of the piece that the tests type."""
    typed = Typed(
        FAMILY,
        years="1959-1960",
        position="bridge",
        simple={"pair": "8,12k", "coil-a": "4.16 kΩ", "coil-b": "3960 Ω", "field": "410 G"},
        at="79 °F",
    )
    return compare_piece(dataset_dir() / "demo", typed)[0]


def tab_to(page: Page, selector: str) -> None:
    """Go to a field by the Tab key alone."""
    for _ in range(FAR):
        if page.evaluate("s => document.activeElement.matches(s)", selector):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"Tab never came to {selector}")


def row(property_id: str, component: str) -> str:
    """Return the selector of a reading's row."""
    return f'[data-row="{property_id}@{component}"]'


def type_piece(page: Page) -> None:
    """Type the whole piece by keys alone: choices by their first letters, values as read."""
    page.keyboard.press("Tab")
    for selector, words in (
        ("#cb-in-family_id", "Full-size"),
        ("#cb-in-period", "1959"),
        ("#cb-in-position", "bridge"),
        ("#cb-in-temperature", "79 °F"),
        ("#cb-in-circuit", "free"),
        *((f"{row(p, part)} .cb-read__in input", value) for p, part, value in READINGS),
    ):
        tab_to(page, selector)
        page.keyboard.type(words)
    page.wait_for_function("id => (coilbook.peersOf || {})[id]", arg=FAMILY)
    expect(page.locator("#cb-check-status")).not_to_be_empty()


def plain(words: str) -> str:
    """Return text with plain single spaces."""
    return " ".join(words.split())


def shown_value(shown: PieceInBook, component: str, property_id: str) -> tuple[str, list[str]]:
    """Return what Python's own pages say of a value: the result, and the verdicts' words."""
    value = shown.measured.best[component, property_id]
    prop = shown.book.reference.properties[property_id]
    words = [text.VERDICT_MARKS[v.word][1] for v in shown.assessment.verdicts_of(value)]
    return plain(text.result(value, prop)), words


@pytest.fixture(scope="module")
def saved(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Hold the files that the first test saves, for the one that takes them in."""
    tmp_path_factory.mktemp("saved")
    return {}


def test_a_piece_is_checked_and_saved_by_keys_alone(
    visit: Any, python: PieceInBook, saved: dict[str, Path], tmp_path_factory: Any
) -> None:
    """8,12k at 79 °F: values and verdicts are Python's, and the rows go into a file by Enter."""
    page = visit("phone").go(PATH)
    type_piece(page)
    for property_id, component, _ in READINGS:
        out = page.locator(f"{row(property_id, component)} .cb-read__out")
        value, words = shown_value(python, component, property_id)
        assert plain(out.locator(".cb-value").inner_text()) == value
        told = [plain(w) for w in out.locator(".cb-verdict").all_inner_texts()]
        assert words, f"nothing documented of {property_id} decides anything here"
        assert [re.sub(r"^\W+|\W*p [<=>].*$", "", w) for w in told] == words
    lead = text.lower_first(
        {"typical": "Typical of its kind", "unusual": "Unusual"}[python.assessment.lead.word]
    )
    assert text.lower_first(page.locator("#cb-lead b").first.inner_text()).startswith(lead)
    assert page.locator(f"{row('pair-resistance', 'pair')} svg .cb-box").count() == 1
    piece_id = "checked-here"
    for selector, words_ in (
        ("#cb-in-piece_id", piece_id),
        ("#cb-in-year_basis", "said for a test"),
    ):
        tab_to(page, selector)
        page.keyboard.type(words_)
    tab_to(page, "#cb-save")
    with page.expect_download() as waiting:
        page.keyboard.press("Enter")
    assert waiting.value.suggested_filename == f"{piece_id}.csv"
    saved[piece_id] = tmp_path_factory.mktemp("downloads") / f"{piece_id}.csv"
    waiting.value.save_as(saved[piece_id])
    assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")


def test_what_was_saved_is_taken_in_and_found_again(
    visit: Any, saved: dict[str, Path], tmp_path: Path
) -> None:
    """The command takes the file whole, and not twice; the rebuilt site finds the piece.

    The copy of the demo has its first pieces only: building all of it again would tell nothing
    more.
    """
    assert saved, "the test that saves runs first"
    folder = shop_copy(tmp_path / "shop")
    for file in saved.values():
        run("import", file, folder, "1 piece")
        again = CliRunner().invoke(main, ["import", str(file), str(folder)], prog_name="coilbook")
        assert again.exit_code == 1
        assert "there already" in again.output
    run("build", folder, "--out", tmp_path / "site")
    for piece_id in saved:
        window = visit()
        window.root = tmp_path / "site"
        page = window.go("pieces/index.html")
        page.locator("#cb-lookup-results tbody tr").first.wait_for()
        page.locator("#cb-lookup [name=words]").press_sequentially(piece_id)
        expect(page.locator("#cb-lookup-results tbody tr")).to_have_count(1)
        page.locator("#cb-lookup-results tbody a").press("Enter")
        expect(page.locator("h1:visible")).to_have_text(f"Piece {piece_id}")
        expect(page.locator("#readings ~ * code", has_text="8,12k").first).to_be_visible()


def shop_copy(folder: Path) -> Path:
    """Copy the demo archive with its first pieces and their readings."""
    folder.mkdir()
    kept: set[str] = set()
    for name in ("coilbook.toml", "instruments.csv", "claims.csv", "pieces.csv", "readings.csv"):
        lines = (dataset_dir() / "demo" / name).read_text(encoding="utf-8").splitlines()
        if name == "pieces.csv":
            lines = lines[: KEPT_PIECES + 1]
            kept = {cells[0] for cells in csv.reader(lines[1:])}
        elif name == "readings.csv":
            lines = [lines[0], *(line for line in lines[1:] if line.split(",")[0] in kept)]
        (folder / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder


def run(*arguments: object) -> None:
    """Run ``coilbook``; a last argument that is no path is what it must say."""
    given = [str(a) for a in arguments]
    told = given.pop() if given[0] == "import" else ""
    result = CliRunner().invoke(main, given, prog_name="coilbook")
    assert result.exit_code in (0, 2), result.output
    assert told in result.output


def test_what_cannot_be_read_is_kept_told_and_announced(visit: Any) -> None:
    """7,820 could mean two things: said beside its field and to a screen reader; a reload keeps it.

    Enter changes nothing, and the other readings are worked out as ever.
    """
    window = visit()
    page = window.go(f"{PATH}#family={FAMILY}")
    status = page.locator("#cb-check-status")
    assert status.inner_text() == ""
    page.locator("#cb-in-temperature").fill("21")
    page.locator(f"{row('coil-resistance', 'coil_a')} input").first.fill("4.1k")
    field = page.locator(f"{row('pair-resistance', 'pair')} .cb-read__in input")
    field.fill("7,820")
    told = page.locator(f"#{field.get_attribute('id')}-told")
    expect(told).to_contain_text("'7,820' could mean 7820 or 7.820.")
    assert told.get_attribute("id") in str(field.get_attribute("aria-describedby"))
    assert field.get_attribute("aria-invalid") == "true"
    expect(status).to_contain_text("Pair, resistance: what was typed cannot be read")
    assert len(status.inner_text()) < 200
    field.press("Enter")
    assert field.input_value() == "7,820"
    assert page.locator(f"{row('coil-resistance', 'coil_a')} .cb-value").is_visible()
    page.reload()
    assert field.input_value() == "7,820"
    expect(told).to_contain_text("could mean")
    field.fill("7.820")
    assert field.get_attribute("aria-invalid") is None
    expect(page.locator(f"{row('pair-resistance', 'pair')} .cb-value")).to_contain_text("kΩ")


@pytest.mark.parametrize("screen", SCREENS)
def test_the_field_that_is_typed_in_stays_where_it_is(visit: Any, screen: str) -> None:
    """What a first reading adds above its field, the summary and remarks, does not move it away."""
    page = visit(screen).go(f"{PATH}#family={FAMILY}")
    page.wait_for_function("id => (coilbook.peersOf || {})[id]", arg=FAMILY)
    field = page.locator(f"{row('pair-resistance', 'pair')} .cb-read__in input")
    field.focus()
    top, scrolled = field.evaluate("field => [field.getBoundingClientRect().top, scrollY]")
    page.keyboard.type("8,12k")
    page.locator(".cb-box").first.wait_for()
    # In the frame after the one in which the last of it appeared; more was added above than this.
    page.wait_for_function(
        """([top, scrolled]) => scrollY > scrolled + 50
            && Math.abs(document.activeElement.getBoundingClientRect().top - top) <= 2""",
        arg=[top, scrolled],
        timeout=SOON_MS,
    )


def test_another_family_loses_nothing_that_was_typed(visit: Any) -> None:
    """A coil's reading of a pickup with two coils stays when one with one coil is chosen."""
    page = visit().go(f"{PATH}#family={FAMILY}")
    page.select_option("#cb-in-period", f"{FAMILY}-1957-58")
    page.locator(f"{row('coil-resistance', 'coil_b')} input").first.fill("3.9k")
    page.select_option("#cb-in-family_id", "wide-bar-single-coil")
    assert page.locator(f"{row('coil-resistance', 'coil_b')} input").first.input_value() == "3.9k"
    expect(page.locator(f"{row('coil-resistance', 'coil_b')} .cb-told").first).not_to_be_empty()
    assert page.locator("#cb-in-year_first").input_value() == "1957"
    page.select_option("#cb-in-family_id", FAMILY)
    expect(page.locator(f"{row('coil-resistance', 'coil_b')} .cb-value")).to_contain_text("kΩ")


def test_a_row_can_be_added_with_conditions_of_its_own_and_taken_away(visit: Any) -> None:
    """A second reading of the pair, in circuit, is reduced by its own path; a row comes back."""
    page = visit().go(f"{PATH}#family={FAMILY}")
    page.locator("#cb-in-temperature").fill("20")
    page.select_option("#cb-add", "pair-resistance@pair")
    page.locator("#cb-add-do").press("Enter")
    page.keyboard.type("7.75k")
    added = page.locator(row("pair-resistance", "pair")).last
    added.locator("summary").press("Enter")
    added.get_by_label("Leads").select_option("in_circuit")
    added.get_by_label("In parallel").fill("250k")
    # Two resistors in parallel, worked out by conductances.
    kohm = re.match(r"([\d.]+)", added.locator(".cb-value").inner_text())
    assert kohm
    assert float(kohm[1]) == pytest.approx(1.0 / (1.0 / 7.75 - 1.0 / 250.0), abs=0.02)
    added.get_by_role("button", name="Take this row away").press("Enter")
    assert page.locator(row("pair-resistance", "pair")).count() == 1
    page.keyboard.press("Enter")
    assert page.locator(".cb-read__in input >> nth=0").is_visible()
    values = page.locator(f"{row('pair-resistance', 'pair')} .cb-read__in input")
    assert "7.75k" in [v.input_value() for v in values.all()]


def test_drafts_are_opened_copied_deleted_and_brought_back(visit: Any, tmp_path: Path) -> None:
    """Two drafts on the device, one deleted and back; a file of all of them is taken back in."""
    page = visit().go(f"{PATH}#family={FAMILY}")
    pair = page.locator(f"{row('pair-resistance', 'pair')} .cb-read__in input")
    pair.fill("8.1k")
    page.locator("#cb-in-piece_id").fill("first")
    page.locator("#cb-draft-new").press("Enter")
    assert page.locator("#cb-in-family_id").input_value() == ""
    page.select_option("#cb-in-family_id", FAMILY)
    pair.fill("7.4k")
    page.locator("#cb-in-piece_id").fill("second")
    names = page.locator("#cb-drafts b")
    expect(names).to_have_text(["first", "second"])
    page.get_by_role("button", name="Open first").press("Enter")
    assert pair.input_value() == "8.1k"
    page.get_by_role("button", name="Delete first").press("Enter")
    expect(names).to_have_text(["second"])
    page.get_by_role("button", name="Bring it back").last.press("Enter")
    assert pair.input_value() == "8.1k"
    page.get_by_role("button", name="Copy second").press("Enter")
    expect(names).to_have_text(["first", "second", "second, copy"])
    with page.expect_download() as waiting:
        page.locator("#cb-draft-all").press("Enter")
    file = tmp_path / "drafts.json"
    waiting.value.save_as(file)
    assert len(json.loads(file.read_text(encoding="utf-8"))["drafts"]) == 3
    other = visit().go(PATH)
    other.locator("#cb-draft-in").set_input_files(file)
    expect(other.locator("#cb-drafts b")).to_have_count(3)
    (tmp_path / "wrong.json").write_text("{}", encoding="utf-8")
    other.locator("#cb-draft-in").set_input_files(tmp_path / "wrong.json")
    expect(other.locator("#cb-draft-told")).to_contain_text("“wrong.json” is no file of drafts")
    expect(other.locator("#cb-drafts b")).to_have_count(3)


def test_two_windows_do_not_write_over_each_other(visit: Any) -> None:
    """A draft that was changed in another window goes on as a second one, and says so."""
    window = visit()
    one = window.go(f"{PATH}#family={FAMILY}")
    pair = f"{row('pair-resistance', 'pair')} .cb-read__in input"
    one.fill(pair, "8.1k")
    expect(one.locator("#cb-drafts b")).to_have_count(1)
    two = window.context.new_page()
    two.goto(one.url)
    two.fill(pair, "7.2k")
    expect(two.locator("#cb-drafts b")).to_have_count(1)
    one.fill(pair, "8.15k")
    expect(one.locator("#cb-draft-told")).to_contain_text("changed in another window")
    expect(one.locator("#cb-drafts b")).to_have_count(2)


def test_a_browser_that_keeps_nothing_is_told_of(visit: Any) -> None:
    """Without storage the page says so, still works, and asks before it is closed."""
    window = visit()
    window.page.add_init_script(
        "Storage.prototype.setItem = function () { throw new DOMException('full'); };"
    )
    page = window.go(f"{PATH}#family={FAMILY}")
    expect(page.locator("#cb-draft-told")).to_contain_text("keeps nothing of this page")
    page.locator(f"{row('pair-resistance', 'pair')} .cb-read__in input").press_sequentially("8.1k")
    expect(page.locator(f"{row('pair-resistance', 'pair')} .cb-value")).to_contain_text("kΩ")
    asked: list[str] = []

    def answer(dialog: Any) -> None:
        asked.append(dialog.type)
        dialog.accept()

    page.on("dialog", answer)
    with page.expect_event("close"):
        page.close(run_before_unload=True)
    assert asked == ["beforeunload"]


def test_a_checked_piece_is_printed_whole(visit: Any, tmp_path: Path) -> None:
    """Paper has what was read and seen, what it comes to and what stands in open folds: no more."""
    page = visit().go(f"{PATH}#family={FAMILY}")
    page.locator("#cb-features-box > summary").click()
    page.locator("#cb-features input").first.check()
    page.locator("#cb-features-box > summary").click()
    page.locator(f"{row('pair-resistance', 'pair')} .cb-read__in input").fill("8,12k")
    expect(page.locator("#cb-fits-count")).not_to_be_empty()
    page.locator("#fits").click()
    value = page.locator(f"{row('pair-resistance', 'pair')} .cb-value").inner_text()
    seen, unseen = page.evaluate(
        """() => [":is", ":not"].map(not => document.querySelector(
            `#cb-features input${not}(:checked) + span > b`).textContent)"""
    )
    pdf = tmp_path / "checked.pdf"
    page.pdf(path=pdf, format="A4")
    printed = printed_text(pdf)
    with (dataset_dir() / "reference" / "periods.csv").open(encoding="utf-8", newline="") as file:
        periods = [r["name"] for r in csv.DictReader(file) if r["family_id"] == FAMILY]
    assert len(periods) > 3
    for words in ("Pair, resistance", value, seen, "Periods that it fits", *periods):
        assert squeezed(words) in printed, words
    for words in ("Coil A, resistance", unseen, "Verdicts with their reasons", "Drafts on this"):
        assert squeezed(words) not in printed, words
    assert page.evaluate("document.querySelectorAll('.cb-check details[open]').length") == 1


def test_rows_are_not_saved_while_something_is_missing(visit: Any) -> None:
    """Each lack is told beside its field, and the first one is gone to; no file is made."""
    page = visit().go(f"{PATH}#family={FAMILY}")
    page.select_option("#cb-in-period", f"{FAMILY}-1957-58")
    page.locator(f"{row('pair-resistance', 'pair')} .cb-read__in input").fill("8.1k")
    page.locator("#cb-in-piece_id").fill("not an id")
    page.locator("#cb-in-date").fill("2026-02-30")
    page.locator("#cb-save").press("Enter")
    expect(page.locator("#cb-in-piece_id-told")).to_contain_text("is not an id")
    expect(page.locator("#cb-in-date-told")).to_contain_text("is not a date")
    expect(page.locator("#cb-in-year_basis-told")).to_contain_text("what the years rest on")
    assert page.evaluate("document.activeElement.id") == "cb-in-piece_id"
    page.locator("#cb-in-piece_id").fill("con")
    page.locator("#cb-save").press("Enter")
    expect(page.locator("#cb-in-piece_id-told")).to_contain_text("folder")


def test_without_a_script_the_page_says_where_the_tables_are(visit: Any) -> None:
    """The form is not shown, and the ways to the same figures are."""
    page = visit(java_script_enabled=False).go(PATH)
    assert page.get_by_text("Checking a piece needs a script").is_visible()
    assert page.get_by_role("link", name="family’s page").is_visible()
    assert not page.locator("#cb-check-form").is_visible()


def test_axe_finds_no_violation_on_a_filled_page(visit: Any) -> None:
    """No rule of axe-core is broken where much is filled in, something refused, and lists open.

    Its tables are those of a piece's page, which another test looks at.
    """
    window = visit("phone", color_scheme="dark")
    page = window.go(f"{PATH}#family={FAMILY}")
    page.locator("#cb-in-temperature").fill("79 °F")
    for property_id, component, value in (*READINGS, ("pair-inductance", "pair", "four")):
        page.locator(f"{row(property_id, component)} .cb-read__in input").fill(value)
    for opened in ("#cb-features-box", "#cb-meter", f"{row('pair-resistance', 'pair')} details"):
        page.locator(opened).evaluate("d => { d.open = true; }")
    expect(page.locator("#cb-features label").first).to_be_attached()
    load_axe(page)
    assert violations(page) == []
    window.resize("desk")
    page.emulate_media(color_scheme="light")
    page.wait_for_function("document.body.dataset.mdColorScheme === 'paper'")
    assert violations(page, seen=True) == []


@pytest.mark.parametrize("size", [(1280, 900), (360, 800), (640, 450)])
def test_every_control_is_a_large_target_within_the_window(
    visit: Any, size: tuple[int, int]
) -> None:
    """44 px and more at a desk, on a phone, and at 200 % zoom, which halves the window."""
    page = visit().go(f"{PATH}#family={FAMILY}")
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.locator(f"{row('pair-resistance', 'pair')} .cb-read__in input").fill("8.1k")
    page.evaluate("document.querySelectorAll('.cb-check details').forEach(d => { d.open = true; })")
    page.wait_for_timeout(100)
    small = page.evaluate(
        """() => [...document.querySelectorAll(".cb-check input:not([type=checkbox]), .cb-check "
                + "select, .cb-check button, .cb-check summary, .cb-tick, .cb-bar a, .cb-jump a")]
            .filter(c => c.offsetParent && !c.closest("[hidden]")).filter(c => {
                const box = c.getBoundingClientRect();
                return box.height < 44 || box.right > innerWidth || box.left < 0;
            }).map(c => c.outerHTML)"""
    )
    assert small == []
    assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")


def test_every_claim_that_the_page_may_show_leads_to_its_place(
    visit: Any, demo_site: BuildReport
) -> None:
    """Each claim's link and its evidence's are places of this site; scripts hide from the check."""
    page = visit().go(PATH)
    data = page.evaluate("coilbook.known")
    words = json.loads(page.locator("#cb-check-words").text_content() or "")
    links = {link for c in data["claims"].values() for link in (c["place"], c["href"])}
    for entry in words:
        links |= set(re.findall(r'href="\.\./([^"{]+)"', entry[4] if entry else ""))
    assert len(links) > 100
    texts: dict[str, str] = {}
    for link in sorted(links):
        name, _, place = link.partition("#")
        html = texts.setdefault(name, (demo_site.out / name).read_text(encoding="utf-8"))
        assert not place or f'id="{place}"' in html, link
