"""The articles' computed figures against elementary physics, written out here a second way."""

from __future__ import annotations

import csv
import itertools
import math
import re

import magpylib
import numpy as np
import pytest

from coilbook.pages.drawn import article_figures as art
from coilbook.pages.tools.calculators import START_CIRCUIT
from coilbook.records import load_reference
from coilbook.resources import dataset_dir, site_src_dir

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


def test_above_the_peak_an_octave_costs_twelve_decibels() -> None:
    """As the article says: the divider's slope, loaded and not, from four peaks up."""
    for load in ({}, LOAD):
        top, _ = peak(*START_CIRCUIT, load)
        two = [level_db(top * times, *START_CIRCUIT, load) for times in (4, 8)]
        assert two[0] - two[1] == pytest.approx(12.0, abs=0.7)


def test_a_reading_at_the_jack_comes_back_to_half_a_percent() -> None:
    """Worked as conductances: 500 kΩ by its mark, 20 % off either way, leaves under 0.5 % of 8 kΩ.

    Half that pot leaves twice as much; a pot that was read leaves next to nothing.
    """
    table = art.in_circuit_table()
    for pot, off, digits, below in (
        (500e3, 0.20, 1, 0.5), (500e3, 0.01, 2, 0.05), (250e3, 0.20, 1, 1.0), (250e3, 0.01, 2, 0.05)
    ):  # fmt: skip
        # 1/R = 1/8000 + 1/true - 1/taken
        left = max(
            100 * abs(1 / (1 / 8000 + 1 / (pot * share) - 1 / pot) / 8000 - 1)
            for share in (1 - off, 1 + off)
        )
        assert left < below
        reads = 1 / (1 / 8e3 + 1 / pot) / 1e3
        assert re.search(
            rf'{pot / 1e3:.0f} kΩ, .*?±{100 * off:.0f} %</th>.*?">{reads:.2f}</td>'
            rf"<td[^>]*>{left:.{digits}f} %</td>",
            table,
        )


@pytest.mark.parametrize(("tall", "widest"), [(11e-3, 16e-3), (5e-3, 26e-3)])
def test_outer_turns_gain_least(tall: float, widest: float) -> None:
    """What each layer of a tall and of a low coil catches of a string 5 mm above it, by magpylib.

    The string's bit as a dipole, in air: voltage goes as the change of flux with its height, meant
    over the layer. And of a rod in the coil, that the string magnetises: its flux through loops.
    In both the outermost layer has least, so a tenth more turns outside give less than a tenth.
    """
    places, weights = np.polynomial.legendre.leggauss(40)

    def caught(width: float, height: float) -> float:
        bit = magpylib.misc.Dipole(moment=(0, 0, 1), position=(0, 0, height))
        half, long = width / 2, 57e-3 / 2 - 2.4e-3 + width / 2
        grid = np.stack(np.meshgrid(places * half, places * long, [0.0], indexing="ij"), axis=-1)
        through = np.einsum("ij,i,j", bit.getB(grid[:, :, 0])[..., 2], weights, weights)
        return float(through) * half * long

    layers = np.linspace(5e-3, widest, 8)
    heights = 5e-3 + tall * (np.arange(5) + 0.5) / 5
    gains = np.array(
        [
            sum(abs(caught(w, 1.01 * h) - caught(w, 0.99 * h)) / (0.02 * h) for h in heights)
            for w in layers
        ]
    )
    assert gains[-1] == min(gains)
    assert gains[-1] < 0.9 * gains.mean()
    rod = magpylib.magnet.Cylinder(polarization=(0, 0, 1), dimension=(4.8e-3, 17e-3))

    def linked(radius: float) -> float:
        out = np.concatenate(
            [places * 1.2e-3 + 1.2e-3, (places + 1) / 2 * (radius - 2.4e-3) + 2.4e-3]
        )
        share = np.concatenate([weights * 1.2e-3, weights / 2 * (radius - 2.4e-3)])
        field = rod.getB(np.stack([out, 0 * out, 0 * out], axis=-1))[:, 2]
        return float(np.sum(2 * np.pi * out * share * field))

    flux = [linked(radius) for radius in np.linspace(2.5e-3, widest / 2, 6)]
    assert all(inner > outer for inner, outer in itertools.pairwise(flux))


def test_half_a_metre_of_braided_lead_is_worth_a_winding() -> None:
    """The lead's capacitance by the table of parts beside the winding's by the claims."""
    reference = load_reference().value
    assert reference is not None
    per_metre = reference.parts["braided-lead"].high
    assert per_metre is not None
    with (dataset_dir() / "reference" / "claims.csv").open(encoding="utf-8", newline="") as file:
        middles = [
            float(row["typical"] or (float(row["low"]) + float(row["high"])) / 2)
            for row in csv.DictReader(file)
            if row["property_id"] == "self-capacitance"
        ]
    assert len(middles) > 3
    assert per_metre / 2 > max(middles)


def test_a_place_on_the_string_has_the_share_of_each_harmonic_that_a_sine_says() -> None:
    """A quarter of the way along: 0.707, 1, 0.707, 0 of the first four (elementary physics)."""
    drawn = art.nodes()
    for partial, share in zip(
        art.PARTIALS, (math.sqrt(0.5), 1.0, math.sqrt(0.5), 0.0), strict=True
    ):
        assert art.partial_at(partial, art.NODE_AT) == pytest.approx(share, abs=1e-12)
        assert f">{100 * share:.0f} %</text>" in drawn


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
