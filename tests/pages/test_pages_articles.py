"""The articles' computed figures against elementary physics, written out here a second way."""

from __future__ import annotations

import math
import re

import magpylib
import numpy as np
import pytest

from coilbook.pages.drawn import article_figures as art
from coilbook.pages.tools.calculators import START_CIRCUIT
from coilbook.resources import site_src_dir

#: The load as the page tells it (common practice): volume, tone pot and capacitor, cable, input.
LOAD = {"volume": 500e3, "tone": 500e3, "tone_f": 22e-9, "cable": 500e-12, "input": 1e6}


def level_db(hertz: float, henry: float, ohm: float, farad: float, load: dict[str, float]) -> float:
    """Output over what the winding makes: a divider of complex impedances (elementary)."""
    omega = 2j * math.pi * hertz
    admittance = omega * farad
    if load:
        admittance += omega * load["cable"] + 1 / load["volume"] + 1 / load["input"]
        admittance += 1 / (load["tone"] + 1 / (omega * load["tone_f"]))
    across = 1 / admittance
    return 20 * math.log10(abs(across / (across + ohm + omega * henry)))


def peak(henry: float, ohm: float, farad: float, load: dict[str, float]) -> tuple[float, float]:
    """Return the highest level and its frequency by trying 40 000 of them."""
    grid = np.geomspace(1000, 15_000, 40_001)
    levels = [level_db(float(f), henry, ohm, farad, load) for f in grid]
    best = int(np.argmax(levels))
    return float(grid[best]), levels[best]


def test_the_start_and_the_loads_are_those_that_the_caption_tells() -> None:
    """What the curves are drawn of is what is said below them."""
    drawn = art.response()
    henry, ohm, farad = START_CIRCUIT
    assert f"{henry:g} H, {ohm / 1e3:g} kΩ and {farad * 1e12:g} pF" in drawn
    assert "500 kΩ pots" in drawn
    assert "250 kΩ volume pot" in drawn


def test_curves_measured_back_from_the_drawing_agree_with_a_divider() -> None:
    """Each drawn point lies within 0.1 px of the level that complex impedances give there."""
    curves = re.findall(r'class="cb-art-(dashed|line|strong)" d="M([^"]+)"', art.response())
    assert [kind for kind, _ in curves] == ["dashed", "line", "strong"]
    for (_, path), load in zip(curves, ({}, LOAD, {**LOAD, "volume": 250e3}), strict=True):
        points = [tuple(map(float, p.split())) for p in path.split("L")]
        assert len(points) > 100
        for x, y in points:
            share = (x - art.x_of_hz(100)) / (art.x_of_hz(20_000) - art.x_of_hz(100))
            hertz = 100 * 200**share
            # A rounded x is up to 0.05 px off, and on a steep flank that is more than 0.05 px of y.
            near = [
                art.y_of_db(
                    level_db(hertz * 10 ** (d * 0.05 * math.log10(200) / 286), *START_CIRCUIT, load)
                )
                for d in (-1, 0, 1)
            ]
            assert min(near) - 0.1 <= y <= max(near) + 0.1


def test_what_moves_the_peak_agrees_with_a_search() -> None:
    """Every line of the table is what trying all frequencies of the changed circuit gives."""
    henry, ohm, farad = START_CIRCUIT
    cases = (
        (henry, ohm, LOAD),
        (henry, ohm, {**LOAD, "volume": 250e3}),
        (henry, ohm, {**LOAD, "cable": 250e-12}),
        (henry, ohm, {**LOAD, "cable": 1000e-12}),
        (henry * 0.81, ohm * 0.9, LOAD),
        (henry * 1.21, ohm * 1.1, LOAD),
        (henry, ohm, {}),
    )
    table = art.changes_table()
    for (words, hertz, height), (h, r, load) in zip(art.changes(), cases, strict=True):
        want_hz, want_db = peak(h, r, farad, load)
        assert hertz == pytest.approx(want_hz, rel=2e-4), words
        assert height == pytest.approx(want_db, abs=0.01), words
        assert re.search(
            re.escape(words) + rf".*?>{want_hz / 1e3:.2f}</td>.*?>{want_db:.1f}</td>", table
        )


def test_the_article_says_of_the_cable_what_the_table_shows() -> None:
    """Half the cable moves the peak farther than a tenth of the turns, as two pages say."""
    peaks = {words: hertz for words, hertz, _ in art.changes()}
    assert peaks["Half the cable"] > peaks["A tenth fewer turns"] > peaks["As it stands"]
    for page, words in (
        ("sound", "A cable half as long moves the peak more than a tenth of the turns does"),
        ("leave-alone", "half the cable moves the peak more than a tenth of the turns"),
    ):
        assert words in (site_src_dir() / "prose" / page / "index.md").read_text("utf-8")


def test_the_field_above_a_rod_agrees_with_an_independent_library() -> None:
    """The curve and its three percentages are those of magpylib 5 for the same rod, to 0.1 %."""
    rod = magpylib.magnet.Cylinder(polarization=(0, 0, 1), dimension=(0.0048, 0.017))

    def field(mm: float) -> float:
        return float(rod.getB((0, 0, 0.0085 + mm / 1e3))[2])

    face = field(1e-6)
    drawn = art.field_above_a_rod()
    for mm in (0.5, 1.0, 2.0):
        assert art.field_share(mm) == pytest.approx(field(mm) / face, rel=1e-3)
        assert f"{100 * field(mm) / face:.0f} %" in drawn
    assert field(2.0) < field(0.0 + 1e-6) / 2


def test_one_coil_reads_what_copper_and_a_parallel_path_make_of_it() -> None:
    """IEC 60028's 0.00393 per K (from memory) and 1/(1/a + 1/b) give every value that is drawn."""
    want = (
        8000.0,
        8000.0 * (1 + 0.00393 * 6),
        1 / (1 / 8000 + 1 / 500e3),
        1 / (1 / 8000 + 1 / 250e3),
        1 / (1 / 8000 + 1 / 250e3 + 1 / 500e3),
    )
    drawn = art.one_coil()
    found = art.readings_of_one_coil()
    assert [ohm for _, ohm in found] == pytest.approx(want, rel=1e-6)
    for ohm in want:
        assert f">{ohm / 1e3:.2f}</text>" in drawn


@pytest.mark.parametrize("name", sorted(art.FIGURES))
def test_every_figure_is_asked_for_and_has_words_and_a_link(name: str) -> None:
    """A page asks for it; it carries a caption with a link; a drawing has title and description."""
    asked = "\n".join(p.read_text("utf-8") for p in (site_src_dir() / "prose").rglob("*.md"))
    assert f"<!-- figure: {name} -->" in asked
    drawn = art.FIGURES[name]()
    assert re.search(r'<figcaption>.*href="\.\./(methods|calculators)/', drawn)
    if "<svg" in drawn:
        assert drawn.count("<title ") == drawn.count("<desc ") == 1
