"""The calculators in a real Chromium: typed into by keyboard, read, announced, printed figures.

Expected figures are worked out here from the constants' published values (IEC 60028: 0.00393 per K;
1 in = 25.4 mm and 1 G = 1e-4 T by definition) and not by the page's own code. The ``visit`` fixture
fails a test whose pages ask for anything but files or whose console complains.
"""

from __future__ import annotations

import math
import re
from typing import Any

import pytest
from playwright.sync_api import expect
from work_watch import WATCH_LAYOUT, typed

pytestmark = pytest.mark.browser

PATH = "calculators/index.html"
SCREENS = ("desk", "phone")


def calculator(page: Any, name: str) -> Any:
    """Return a calculator's form."""
    return page.locator(f'form[data-cb-calc="{name}"]')


def at_the_response(page: Any) -> Any:
    """Go to the last calculator and wait for its first answer, which comes after the others'."""
    page.locator("#response").scroll_into_view_if_needed()
    page.locator("#cb-response-told > *").first.wait_for()
    return page


def answer(page: Any, name: str) -> str:
    """Return the first line of a calculator's result, whether or not it is in view."""
    return str(page.locator(f"#cb-{name}-told .cb-answer").text_content())


@pytest.mark.parametrize("screen", SCREENS)
def test_a_reading_in_fahrenheit_is_brought_to_20c_by_keyboard(visit: Any, screen: str) -> None:
    """8,12k at 79 °F comes to 8.12/(1 + 0.00393 (26.111 - 20)) kΩ, typed with keys alone."""
    page = visit(screen).go(PATH)
    form = calculator(page, "temperature")
    form.get_by_label("Reading, kΩ").focus()
    page.keyboard.press("Control+a")
    page.keyboard.type("8,12k")
    page.keyboard.press("Tab")
    page.keyboard.press("Control+a")
    page.keyboard.type("79 °F")
    expected = 8.12 / (1.0 + 0.00393 * ((79.0 - 32.0) / 1.8 - 20.0))
    told = re.fullmatch(r"At 20 °C: ([\d.]+) ± ([\d.]+) kΩ", answer(page, "temperature"))
    assert told
    assert float(told[1]) == pytest.approx(expected, abs=0.0005)
    # The last digit and 1 K, both rectangular; copper's own coefficient adds next to nothing.
    u = math.hypot(0.01 / 2, expected * 0.00393) / math.sqrt(3.0)
    assert float(told[2]) == pytest.approx(2.0 * u, abs=0.001)


def test_a_refusal_names_the_slip_and_marks_its_field(visit: Any) -> None:
    """7,820 could mean two things: the page says so and marks the field until it is mended."""
    page = visit().go(PATH)
    field = calculator(page, "temperature").get_by_label("Reading, kΩ")
    field.fill("7,820")
    assert answer(page, "temperature").startswith("'7,820' could mean 7820 or 7.820.")
    assert field.get_attribute("aria-invalid") == "true"
    field.fill("open")
    assert "open circuit" in answer(page, "temperature")
    field.fill("7.820")
    assert field.get_attribute("aria-invalid") is None
    assert answer(page, "temperature").startswith("At 20 °C: ")


def test_a_result_is_announced_when_the_typing_rests(visit: Any) -> None:
    """The status stays silent at first and while keys fall, then says the whole result once."""
    page = visit().go(PATH)
    status = page.locator("#cb-flux-status")
    assert status.inner_text() == ""
    field = calculator(page, "flux").get_by_label("Flux density")
    field.fill("")
    field.press_sequentially("420 G", delay=20)
    assert status.inner_text() == ""
    expect(status).to_have_text("42 mT = 420 G = 0.042 T")


def test_what_is_typed_before_the_first_answer_is_announced(visit: Any) -> None:
    """A first or a redrawn answer, which is silent, does not take back what waits to be said."""
    page = visit().go(PATH)
    form = calculator(page, "response")
    page.evaluate(
        """() => {
        const field = document.querySelector('form[data-cb-calc="response"] input');
        field.dispatchEvent(new Event("input", {bubbles: true}));
        window.dispatchEvent(new Event("resize"));
        }"""
    )
    expect(form.page.locator("#cb-response-status")).not_to_have_text("")


def test_a_path_in_parallel_is_taken_out(visit: Any) -> None:
    """Two parallel resistors, worked out by conductances; a reading beyond the path is refused."""
    page = visit().go(PATH)
    form = calculator(page, "parallel")
    form.get_by_label("Reading in circuit").fill("7.75k")
    form.get_by_label("In parallel").fill("250k")
    told = re.match(
        r"By itself, at the temperature of the day: ([\d.]+) ", answer(page, "parallel")
    )
    assert told
    assert float(told[1]) == pytest.approx(1.0 / (1.0 / 7.75 - 1.0 / 250.0), abs=0.006)
    form.get_by_label("In parallel").fill("5k")
    assert "cannot reach" in page.locator("#cb-parallel-told").inner_text()


def test_turns_and_resistance_go_there_and_back(visit: Any) -> None:
    """The resistance told for 5000 turns, typed in, gives 5000 turns to the digits shown."""
    page = visit().go(PATH)
    form = calculator(page, "turns")
    kohm = re.match(r"Resistance at 20 °C: ([\d.]+) ", answer(page, "turns"))
    assert kohm
    form.get_by_label("What is known").select_option("resistance")
    form.get_by_label("Its value").fill(f"{kohm[1]}k")
    turns = re.match(r"Turns: (\d+) ± (\d+) turns", answer(page, "turns"))
    assert turns
    assert float(turns[1]) == pytest.approx(5000.0, abs=10.0)


@pytest.mark.parametrize(
    ("typed", "first", "second"),
    [
        ("49.2 mm", "49.2 mm = 1.93701 in", "1 15/16 in − 0.012 mm"),
        ('1-15/16"', "49.2125 mm = 1.9375 in", "1 15/16 in exactly"),
        ("½ in", "12.7 mm = 0.5 in", "In parts of 16: 1/2 in exactly"),
        ("25.4", "25.4 mm = 1 in", "1 in exactly"),
    ],
)
def test_lengths_go_both_ways(visit: Any, typed: str, first: str, second: str) -> None:
    """Millimetres give inches and the nearest fraction, fractions millimetres."""
    page = visit().go(PATH)
    calculator(page, "lengths").get_by_label("Length").fill(typed)
    assert answer(page, "lengths") == first
    assert second in page.locator("#cb-lengths-told").inner_text()


def test_hum_follows_the_imbalance(visit: Any) -> None:
    """4.10 kΩ against 3.90 kΩ: 5 %, and 0.2/8 of the hum is left, which is -32.0 dB; with their U.

    The last digit of each is 0.01 kΩ, rectangular (JCGM 100, 4.3.7); the imbalance's derivatives
    are found here by moving each reading a little, and the ends in dB from the imbalance's ends.
    """
    page = visit().go(PATH)
    form = calculator(page, "hum")
    form.get_by_label("One coil").fill("4.10k")
    form.get_by_label("The other").fill("3.90k")

    def imbalance(a: float, b: float) -> float:
        return 200.0 * abs(a - b) / (a + b)

    def expanded(u_a: float, u_b: float) -> float:
        by_a = (imbalance(4.1 + 1e-6, 3.9) - 5.0) / 1e-6
        by_b = (imbalance(4.1, 3.9 + 1e-6) - 5.0) / 1e-6
        return 2.0 * math.hypot(by_a * u_a, by_b * u_b)

    extent = expanded(0.005 / math.sqrt(3.0), 0.005 / math.sqrt(3.0))
    assert answer(page, "hum") == f"Imbalance: 5.00 ± {extent:.2f} %"
    left, low, high = (20.0 * math.log10(d / 200.0) for d in (5.0, 5.0 - extent, 5.0 + extent))
    told = page.locator("#cb-hum-told").inner_text()
    assert f"Hum left: −{-left:.1f} dB" in told
    assert f"from −{-low:.1f} to −{-high:.1f} dB" in told
    # One meter of 1 % and 3 digits: what it adds to both adds up in series, and is not taken to
    # cancel in the difference.
    form.get_by_label("Meter: % of reading").fill("1")
    form.get_by_label("Meter: digits").fill("3")
    whole = [(0.01 * r + 0.03) / math.sqrt(3.0) for r in (4.1, 3.9)]
    assert answer(page, "hum") == f"Imbalance: 5.0 ± {expanded(*whole):.1f} %"
    share = [0.01 * r / math.sqrt(3.0) for r in (4.1, 3.9)]
    rest = [math.sqrt(w * w - s * s) for w, s in zip(whole, share, strict=True)]
    series = 2.0 * math.hypot(sum(share), *rest)
    assert f"In series 8.00 ± {series:.2f} kΩ" in page.locator("#cb-hum-told").inner_text()
    form.get_by_label("The other").fill("4.10k")
    assert "Equal as read. Hum left: at most" in page.locator("#cb-hum-told").inner_text()


@pytest.mark.parametrize("screen", SCREENS)
def test_the_curves_labels_can_be_read(visit: Any, screen: str) -> None:
    """On the screen a label of the curve is 12 px high or more, and none leaves the drawing."""
    page = at_the_response(visit(screen).go(PATH))
    small = page.locator(".cb-curve").evaluate(
        """svg => {
            const box = svg.getBoundingClientRect(), scale = box.width / svg.viewBox.baseVal.width;
            return [...svg.querySelectorAll("text")].filter(text => {
                const own = text.getBoundingClientRect();
                return parseFloat(getComputedStyle(text).fontSize) * scale < 12
                    || own.left < box.left - 1 || own.right > box.right + 1;
            }).map(text => text.textContent);
        }"""
    )
    assert small == []
    assert page.locator(".cb-curve text").count() > 8


@pytest.mark.parametrize("screen", SCREENS)
def test_the_curve_moves_with_a_slider_by_key(visit: Any, screen: str) -> None:
    """A key on the cable's slider changes curve, summary, table and what a reader is told of it."""
    page = at_the_response(visit(screen).go(PATH))
    line, cell = (
        page.locator(".cb-curve .cb-curve-line"),
        page.locator('#cb-levels [data-hz="6000"]'),
    )
    before = (line.get_attribute("d"), answer(page, "response"), cell.text_content())
    slider = calculator(page, "response").get_by_role("slider", name="Cable")
    slider.focus()
    page.keyboard.press("End")
    after = (line.get_attribute("d"), answer(page, "response"), cell.text_content())
    assert all(one != other for one, other in zip(before, after, strict=True))
    assert slider.get_attribute("aria-valuetext") == "2000 pF"
    # More cable, a lower peak: 1 / (2 pi sqrt(L C)) is its bound from above.
    peak = re.match(r"Peak: ([\d.]+) kHz", after[1])
    assert peak
    assert float(peak[1]) < 1e-3 / (2.0 * math.pi * math.sqrt(4.4 * 2110e-12))
    page.get_by_role("button", name="500 kΩ pots").click()
    assert (line.get_attribute("d"), answer(page, "response"), cell.text_content()) == before


def test_the_table_without_a_script_is_the_one_with_it(visit: Any) -> None:
    """What Python wrote into the page is what the page's own code puts there at first."""
    cells = "#cb-levels [data-hz]"
    with_script = at_the_response(visit().go(PATH)).locator(cells).all_text_contents()
    page = visit(java_script_enabled=False).go(PATH)
    assert page.locator(cells).all_text_contents() == with_script
    assert page.get_by_text("Calculating needs a script").is_visible()
    assert not page.locator("form[data-cb-calc]").first.is_visible()


@pytest.mark.parametrize("screen", SCREENS)
def test_every_control_is_a_large_target_with_a_name(visit: Any, screen: str) -> None:
    """44 px high, inside the screen, and named by its label."""
    page = visit(screen).go(PATH)
    small = page.evaluate(
        """() => [...document.querySelectorAll(".cb-calc input, .cb-calc select, .cb-calc button,"
                + " .cb-article summary, .cb-jump a")].filter(c => {
            const box = c.getBoundingClientRect();
            const named = c.labels === undefined || c.tagName === "BUTTON" || c.labels.length === 1;
            return box.height < 44 || box.right > innerWidth || !named;
        }).map(c => c.outerHTML)"""
    )
    assert small == []
    assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")


def test_a_key_writes_its_own_answer_alone(visit: Any) -> None:
    """Each key is answered at once, by a few elements, without the page laid out before.

    The response's drawing has the most; how long a key takes, the benchmark of keys tells.
    """
    window = visit()
    window.page.add_init_script(WATCH_LAYOUT)
    page = window.go(PATH)
    forms = page.locator("form[data-cb-calc]").evaluate_all("all => all.map(f => f.dataset.cbCalc)")
    for form in forms:
        field = f"form[data-cb-calc={form}] input"
        value = page.locator(field).first.input_value()
        for key in typed(page, field, [value, value + "0"]):
            assert key["asked"] == [], form
            assert 0 < key["made"] <= 60, form
