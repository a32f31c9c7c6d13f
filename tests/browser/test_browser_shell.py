"""The built demo opened by file:// in a real Chromium, at a desk's and a phone's size.

The ``visit`` fixture lets the network on, and fails a test whose pages ask for anything but files
or whose console shows an error or a warning. Sizes and contrasts are those of WCAG 2.2 (1.4.3
contrast, 1.4.10 reflow, 2.4.1 bypass, 2.4.7 focus; 44 px is 2.5.5, the stricter of its two target
sizes); all of them from memory.
"""

from __future__ import annotations

from typing import Any

import pytest

from coilbook.publish import BuildReport
from conftest import fits

pytestmark = pytest.mark.browser

SCREENS = ("desk", "phone")
SCHEMES = (("light", "paper"), ("dark", "graphite"))
TEXT = ("ink", "soft", "link", "copper", "warn")
GROUNDS = ("paper", "card")


#: Of so many pages of each template, the longest, is seen how wide they are.
LONGEST = 2


def paths(site: BuildReport) -> list[str]:
    """Return the longest pages of each template that makes many: here width runs out first."""
    found: list[str] = []
    for folder in ("families", "pieces", "winding"):
        pages = sorted(site.out.glob(f"{folder}/*/index.html"), key=lambda p: -p.stat().st_size)
        found += [page.relative_to(site.out).as_posix() for page in pages[:LONGEST]]
    return found


def colour(text: str) -> tuple[float, float, float]:
    """Return the channels of #rgb or #rrggbb between 0 and 1."""
    digits = text.strip().lstrip("#")
    if len(digits) == 3:
        digits = "".join(2 * d for d in digits)
    r, g, b = (int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4))
    return r, g, b


def contrast(one: str, two: str) -> float:
    """Return the contrast ratio of two colours, after WCAG 2.2's definitions."""

    def luminance(text: str) -> float:
        channels = [
            c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour(text)
        ]
        return 0.2126 * channels[0] + 0.7152 * channels[1] + 0.0722 * channels[2]

    lighter, darker = sorted((luminance(one), luminance(two)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_contrast_formula_gives_wcags_extremes() -> None:
    """Black on white is 21:1 and #767676 on white just passes 4.5:1 (WCAG 2.2, 1.4.3)."""
    assert contrast("#000", "#fff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


def test_the_longest_pages_open_in_peace_and_fit_the_screen(
    visit: Any, demo_site: BuildReport
) -> None:
    """No page asks for more than files, complains, or is wider than a desk's screen or a phone's.

    Each is opened once, at a desk, and the window is then made as narrow as a phone. So is one of
    each kind in the test of access.
    """
    window = visit()
    too_wide = []
    for path in paths(demo_site):
        window.go(path)
        too_wide += [f"{path}, {screen}" for screen in SCREENS if not fits(window, screen)]
    assert too_wide == []


@pytest.mark.parametrize("path", ["where-practice-parts/index.html", "pieces/{}/index.html"])
def test_a_table_in_a_fold_has_the_folds_width(
    visit: Any, pieces: dict[str, list[object]], path: str
) -> None:
    """No page's own rule for narrow tables reaches the folds of other pages."""
    page = visit().go(path.format(pieces["id"][0]))
    wide = page.evaluate(
        """() => [...document.querySelectorAll("details.cb-list > table")].map(table => {
            table.parentElement.open = true;
            return table.getBoundingClientRect().width / table.parentElement.clientWidth;
        })"""
    )
    assert wide
    assert min(wide) > 0.98


@pytest.mark.parametrize("screen", SCREENS)
def test_the_skip_link_comes_first_and_skips(visit: Any, screen: str) -> None:
    """The first Tab shows the skip link, and following it moves the focus into the content."""
    page = visit(screen).go("families/index.html")
    page.keyboard.press("Tab")
    link = page.locator(":focus")
    assert link.inner_text() == "Skip to content"
    assert link.bounding_box()["y"] >= 0
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "cb-main"


@pytest.mark.parametrize("screen", SCREENS)
def test_the_header_works_by_keyboard_with_large_targets(visit: Any, screen: str) -> None:
    """Every control of the header can be reached by Tab, shows its focus, and is 44 px large."""
    page = visit(screen).go("families/index.html")
    reached = []
    page.keyboard.press("Tab")  # the skip link
    for _ in range(12):
        page.keyboard.press("Tab")
        found = page.evaluate(
            """() => {
                const at = document.activeElement;
                if (!at.closest(".cb-header")) { return null; }
                const box = at.getBoundingClientRect(), style = getComputedStyle(at);
                return [at.getAttribute("aria-label") || at.innerText.trim(), box.width, box.height,
                        style.outlineStyle, parseFloat(style.outlineWidth)];
            }"""
        )
        if found is None:
            break
        reached.append(found)
    names = [name for name, *_ in reached]
    assert {"Coilbook", "Families", "Pieces", "Materials", "Methods", "Sources"} <= set(names)
    assert "Find a family, a piece, a wire" in names
    assert "Dark colours" in names
    for name, width, height, outline, thickness in reached:
        assert width >= 44, name
        assert height >= 44, name
        assert outline != "none", name
        assert thickness >= 2, name


def test_the_current_place_is_marked_for_all(visit: Any) -> None:
    """The menu marks the page one is on, and on a page within a section that section."""
    window = visit()
    here = window.go("families/index.html").locator(".cb-nav [aria-current]")
    assert (here.inner_text(), here.get_attribute("aria-current")) == ("Families", "page")
    family = window.page.locator("main a[href*='/index.html'][href^='../families/']").first
    family.click()
    inside = window.page.locator(".cb-nav [aria-current]")
    assert (inside.inner_text(), inside.get_attribute("aria-current")) == ("Families", "true")


@pytest.mark.parametrize(("system", "scheme"), SCHEMES)
def test_the_scheme_follows_the_system_and_text_stands_out(
    visit: Any, system: str, scheme: str
) -> None:
    """Each scheme comes with the system's setting, and its text has 4.5:1 on both grounds."""
    page = visit(color_scheme=system).go("index.html")
    assert page.evaluate("document.body.dataset.mdColorScheme") == scheme

    def token(name: str) -> str:
        return str(
            page.evaluate(f"getComputedStyle(document.body).getPropertyValue('--cb-{name}').trim()")
        )

    for ground in GROUNDS:
        for text in TEXT:
            ratio = contrast(token(text), token(ground))
            assert ratio >= 4.5, f"{text} on {ground}: {ratio:.2f}"
        assert contrast(token("line"), token(ground)) >= 3.0  # 1.4.11: edges of controls
    ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert ground == "rgb({}, {}, {})".format(*(round(255 * c) for c in colour(token("paper"))))


def test_a_chosen_scheme_is_kept_and_given_up_again(visit: Any) -> None:
    """The button's choice holds on the next page; choosing the system's scheme follows it again."""
    window = visit(color_scheme="light")
    page = window.go("index.html")
    button = page.get_by_role("button", name="Dark colours")
    assert button.get_attribute("aria-pressed") == "false"
    button.click()
    assert page.evaluate("document.body.dataset.mdColorScheme") == "graphite"
    assert button.get_attribute("aria-pressed") == "true"

    page = window.go("families/index.html")
    assert page.evaluate("document.body.dataset.mdColorScheme") == "graphite"
    page.get_by_role("button", name="Dark colours").click()
    for system, scheme in (("dark", "graphite"), ("light", "paper")):
        page.emulate_media(color_scheme=system)
        page.wait_for_function("to => document.body.dataset.mdColorScheme === to", arg=scheme)


def test_letters_outside_a_field_do_nothing(visit: Any) -> None:
    """No single key is a shortcut (WCAG 2.2, 2.1.4): the search stays shut, the page stays."""
    page = visit().go("families/index.html")
    before = page.url
    for key in "fspn/.,":
        page.keyboard.press(key)
    assert not page.locator(".cb-search__output").is_visible()
    assert page.url == before
    assert page.evaluate("document.activeElement === document.body")


@pytest.mark.parametrize("system", ["light", "dark"])
def test_pages_print_black_on_white_with_their_notice(
    visit: Any, pieces: dict[str, list[object]], system: str
) -> None:
    """On paper the header is gone, the ground is white, and the mark of invented records stays."""
    page = visit(color_scheme=system).go(str(pieces["url"][0]))
    page.emulate_media(media="print", color_scheme=system)
    assert not page.locator(".cb-header").is_visible()
    assert page.locator(".cb-notice").is_visible()
    assert page.locator(".cb-footer").is_visible()
    style = page.evaluate(
        "[getComputedStyle(document.body).backgroundColor, getComputedStyle(document.body).color]"
    )
    assert style == ["rgb(255, 255, 255)", "rgb(0, 0, 0)"]


def test_printing_opens_what_is_folded_and_puts_it_back(visit: Any) -> None:
    """Folded lists are printed in full, and are folded again afterwards."""
    page = visit(color_scheme="dark").go("pieces/index.html")
    folded = page.locator("main details:not([open])").count()
    assert folded > 0
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert page.locator("main details:not([open])").count() == 0
    assert page.evaluate("document.body.dataset.mdColorScheme") == "paper"
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    assert page.locator("main details:not([open])").count() == folded
    assert page.evaluate("document.body.dataset.mdColorScheme") == "graphite"


def test_without_scripts_pages_can_be_read_and_pieces_found(
    visit: Any, pieces: dict[str, list[object]]
) -> None:
    """With scripts off, every piece is a plain link, and no search box pretends to work."""
    page = visit(java_script_enabled=False).go("pieces/index.html")
    links = page.locator("main a").evaluate_all("all => all.map(a => a.href)")
    site = page.url.removesuffix("pieces/index.html")
    assert {f"{site}{url}" for url in pieces["url"]} <= set(links)
    assert not page.locator(".cb-search").is_visible()
    assert not page.locator(".cb-scheme").is_visible()


def test_the_not_found_page_leads_on(visit: Any) -> None:
    """Opened as a file, the not-found page has its look and its links work."""
    page = visit().go("404.html")
    page.locator(".cb-ways a", has_text="Families").click()
    assert page.url.endswith("/families/index.html")
    assert page.locator("h1:visible").inner_text() == "Families"
