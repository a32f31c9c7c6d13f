"""Pair, response and magnet on the piece page: their figures stand there as text and as tables."""

from __future__ import annotations

import html as html_lib
import json
import re
from typing import get_args

import pytest
from pages_helpers import make_property
from test_pages_render import book_of, templates

from coilbook.core.reduction.rod_ceilings import NoCeiling, Ruling
from coilbook.measures.pair_sums import Way, coil_sums
from coilbook.measures.phase import TRUTH_TABLE
from coilbook.measures.response import EXAMPLE_LOADS, UNLOADED
from coilbook.measures.response_of_piece import TABLE_HZ, InputName, Why, response_of_piece
from coilbook.pages.page import Book, SiteContent
from coilbook.pages.piece import magnet_section as magnet_page
from coilbook.pages.piece import pair_section as pair_page
from coilbook.pages.piece import response_section as response_page
from coilbook.pages.render import render_site
from coilbook.pages.worded import environment
from small_archive import INSTRUMENTS, PIECES, READINGS, SETTINGS, write_table

COLUMNS = (*READINGS, "qualifier", "test_frequency")
#: piece, family; then readings as component, property, value, and more columns.
WRITTEN: dict[str, tuple[str, list[tuple[str, str, str, dict[str, str]]]]] = {
    "full": (
        "full-size-humbucker",
        [
            ("coil_a", "coil-resistance", "3.50 kΩ", {"circuit": "free"}),
            ("coil_b", "coil-resistance", "4.50 kΩ", {"circuit": "free"}),
            ("pair", "pair-inductance", "4.40 H", {"test_frequency": "1 kHz"}),
            ("pickup", "self-capacitance", "110 pF", {}),
            ("pickup", "resonant-frequency", "7.20 kHz", {}),
            ("magnet", "pole-flux-density", "35 mT", {}),
            ("coil_a", "pole-polarity", "north", {}),
            ("coil_b", "pole-polarity", "south", {}),
            ("coil_a", "winding-sense", "clockwise", {}),
            ("coil_b", "winding-sense", "clockwise", {}),
            ("coil_a", "hot-lead", "finish", {}),
            ("coil_b", "hot-lead", "start", {}),
        ],
    ),
    "rods": (
        "staggered-rod-single-coil",
        [
            ("coil", "coil-resistance", "6.00 kΩ", {"circuit": "free"}),
            ("coil", "coil-inductance", "2.30 H", {}),
            ("pickup", "resonant-frequency", "9.00 kHz", {}),
            ("magnet", "pole-flux-density", "400 mT", {"date": "2025-03-14"}),
            ("magnet", "pole-flux-density", "90 mT", {"date": "2026-03-14"}),
            ("magnet", "magnet-width", "4.8 mm", {}),
            ("magnet", "magnet-length", "16 mm", {}),
            ("coil", "pole-polarity", "south", {}),
        ],
    ),
    "open": (
        "full-size-humbucker",
        [
            ("coil_a", "coil-resistance", "open", {"circuit": "free"}),
            ("coil_b", "coil-resistance", "4.50 kΩ", {"circuit": "free"}),
            ("pair", "pair-resistance", "open", {"circuit": "free"}),
            ("pair", "pair-inductance", "4.40 H", {}),
            ("pickup", "self-capacitance", "110 pF", {}),
        ],
    ),
    "bound": (
        "wide-bar-single-coil",
        [
            ("coil", "coil-resistance", "7.00 kΩ", {"circuit": "in_circuit"}),
            ("coil", "coil-inductance", "6 H", {"qualifier": ">"}),
            ("pickup", "resonant-frequency", "5.5 kHz", {}),
        ],
    ),
    "bare": ("small-humbucker", []),
}


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """Return the book of five pieces: complete, rods, open, bounds, and without a reading."""
    folder = tmp_path_factory.mktemp("sections") / "archive"
    folder.mkdir()
    (folder / "coilbook.toml").write_text(SETTINGS.format(kind="invented"), encoding="utf-8")
    common = {"state": "unknown", "potted": "unknown", "publish": "yes"}
    write_table(
        folder / "pieces.csv",
        PIECES,
        [{"piece_id": p, "family_id": family, **common} for p, (family, _) in WRITTEN.items()],
    )
    meters = {
        "coil-resistance": "resistance", "coil-inductance": "inductance",
        "self-capacitance": "capacitance", "resonant-frequency": "frequency",
        "pole-flux-density": "flux_density",
    }  # fmt: skip
    kinds = {**meters, "pair-resistance": "resistance", "pair-inductance": "inductance"}
    write_table(
        folder / "readings.csv",
        COLUMNS,
        [
            {
                "piece_id": piece_id,
                "component": component,
                "property_id": prop,
                "value": value,
                "temperature": "20 °C" if "resistance" in prop else "",
                "instrument_id": "meter" if prop in kinds else "",
                "date": "2026-03-14",
                **more,
            }
            for piece_id, (_, rows) in WRITTEN.items()
            for component, prop, value, more in rows
        ],
    )
    write_table(
        folder / "instruments.csv",
        INSTRUMENTS,
        [
            {
                "instrument_id": "meter",
                "name": "bench meter",
                "measures": kind,
                "accuracy_percent": "1",
                "accuracy_digits": "1",
                "calibrated": "2025-01-10",
                "due": "2027-01-10",
            }
            for kind in dict.fromkeys(meters.values())
        ],
    )
    return book_of(folder)


@pytest.fixture(scope="module")
def site(book: Book) -> SiteContent:
    """Return its pages."""
    return render_site(book, templates())


def _page(site: SiteContent, piece_id: str) -> str:
    return next(p.html for p in site.pages if p.path == f"pieces/{piece_id}/index.html")


def _section(site: SiteContent, piece_id: str, anchor: str) -> str:
    """Return the words of a section, tags left out."""
    page = _page(site, piece_id)
    if f'id="{anchor}"' not in page:
        return ""
    part = page[page.index(f'id="{anchor}"') :]
    part = re.sub(r"<script.*?</script>", "", part[: part.index("</section>")], flags=re.DOTALL)
    words = html_lib.unescape(re.sub(r"<[^>]+>", " ", part))
    return re.sub(r"[\s\N{NO-BREAK SPACE}]+", " ", words)


def test_each_way_of_switching_has_its_line(site: SiteContent, book: Book) -> None:
    """3.50 and 4.50 kΩ by hand: 8.00, 1.97, 3.50, 4.50, and 4.98 and 5.80 with 2.2 and 4.7 kΩ."""
    words = _section(site, "full", "switching")
    for figure in ("8.00 ±", "1.97 ±", "3.50 ±", "4.50 ±", "4.98 ±", "5.80 ±", "2.2 kΩ", "4.7 kΩ"):
        assert figure in words, figure
    assert words.count(" kΩ ") >= len(coil_sums(book.measured["full"]))
    for piece_id in ("open", "rods", "bare", "bound"):
        assert _section(site, piece_id, "switching") == ""


def test_the_usual_connection_is_recognised(site: SiteContent) -> None:
    """North and south, wound alike, one coil turned round: strings add, hum cancels."""
    words = _section(site, "full", "phase")
    assert "string signals add and hum cancels" in words
    assert "usual connection" in words
    assert "other pole this piece" in words
    assert "What would settle it" not in words
    assert words.count("cancels") >= sum(row.hum_cancels for row in TRUTH_TABLE)


def test_what_is_not_recorded_is_said_with_what_would_settle_it(site: SiteContent) -> None:
    """A pair without entries, a single coil with one entry, and one with none at all."""
    words = _section(site, "bare", "phase")
    assert "is not known : nothing that it takes is recorded" in words
    for word in ("compass", "out of the amplifier", "better left closed"):
        assert word in words
    one = _section(site, "rods", "phase")
    assert "south not recorded not recorded" in one
    assert _section(site, "bound", "phase") == ""


def test_the_response_stands_as_text_and_table_beside_the_plot(
    site: SiteContent, book: Book
) -> None:
    """Peak, height and edge of every load, and the level at every frequency, are on the page."""
    words = _section(site, "full", "response")
    found = response_of_piece(book.archive.pieces["full"], book.measured["full"])
    assert len(found.curves) == 3
    for curve in found.curves:
        assert curve.peak_hz.value is not None
        assert curve.height_db.value is not None
        assert curve.edge_hz.value is not None
        # Cut and not rounded: how many digits are shown depends on the uncertainty.
        assert f" {curve.height_db.value:.4f}"[: 4 if curve.height_db.value < 10 else 5] in words
        assert f" {curve.edge_hz.value / 1e3:.4f}"[:4] in words
        assert f" {curve.peak_hz.value / 1e3:.4f}"[:4] in words
    assert "was read at 7.200 ±" in words
    assert "agrees with these" in words
    assert "examples of common practice" in words
    assert "read at 1 kHz" in words
    for hertz in TABLE_HZ:
        assert (f" {hertz:g} Hz " if hertz < 1000 else f" {hertz / 1000:g} kHz ") in words
    at = list(found.frequencies_hz).index(3000.0)
    assert f"{found.curves[1].level_db[at]:.1f}".replace("-", "\N{MINUS SIGN}") in words
    assert "(from the peak that was read)" in _section(site, "rods", "response")


def test_the_plot_holds_the_curves_their_bands_and_the_peak_as_read(site: SiteContent) -> None:
    """Bands first, closed and round each curve; the peak as read; the mark of invented records."""
    page = _page(site, "full")
    part = page[page.index('id="plot-response"') :]
    figure = json.loads(part[part.index("{") : part.index("</script>")])
    kinds = [trace["mode"] for trace in figure["data"]]
    assert kinds == ["none"] * 3 + ["lines"] * 3 + ["markers"]
    for band, line in zip(figure["data"][:3], figure["data"][3:6], strict=True):
        size = len(line["x"])
        assert band["x"] == [*line["x"], *reversed(line["x"])]
        high, low = band["y"][:size], band["y"][size:][::-1]
        for lowest, level, highest in zip(low, line["y"], high, strict=True):
            assert lowest - 0.02 <= level <= highest + 0.02
    # The peak is not cut off by the steps of the curve.
    assert max(figure["data"][3]["y"]) == pytest.approx(27.7, abs=0.6)
    assert figure["data"][6]["x"] == [7200]
    assert len({trace["line"]["dash"] for trace in figure["data"][3:6]}) == 3
    assert "invented records" in json.dumps(figure["layout"], ensure_ascii=False)


def test_what_stands_in_the_way_of_a_response_is_named(site: SiteContent) -> None:
    """An open pair and readings that are bounds have no curve, and the page says which."""
    words = _section(site, "open", "response")
    assert "The resistance is that of an open circuit" in words
    assert "data-cb-plot" not in _page(site, "open")
    bound = _section(site, "bound", "response")
    assert "The resistance is known only to lie above or below" in bound
    assert "The inductance is known only to lie above or below" in bound
    assert "peak was read at 5.5" in bound
    assert _section(site, "bare", "response") == ""


def test_a_rods_reading_is_held_against_every_grade(site: SiteContent, book: Book) -> None:
    """400 mT rules out the typical grade 4 and no minimum; 90 mT a year later is a loss."""
    words = _section(site, "rods", "magnet")
    assert "rules out" in words
    assert "assumed, since the instrument's is not stated" in words
    alloys = [m for m in book.reference.magnets.values() if m.material == "alnico"]
    for magnet in alloys:
        assert f" {magnet.grade} {magnet.process} " in words
        assert magnet.standard in words
    # No rod of these families is a ferrite: they are not held against it.
    assert "ferrite" not in words
    typical = [m for m in alloys if m.value_kind == "typical"]
    assert words.count("ruled out") >= len(typical)
    assert words.count("a minimum sets no ceiling") == len(alloys) - len(typical)
    assert "Would show by itself" in words
    assert "a loss" in words
    assert "2025-03-14" in words
    assert "Coil south" in words


def test_over_steel_and_where_a_magnet_is_charged_the_page_warns(site: SiteContent) -> None:
    """No grade over steel; wherever magnets are spoken of, so are implants and fingers."""
    assert "No grade is ruled out." in _section(site, "full", "magnet")
    for piece_id in ("full", "rods"):
        words = _section(site, piece_id, "magnet")
        for word in ("pacemaker", "fingers", "watch or card", "licensed"):
            assert word in words
    assert _section(site, "bare", "magnet") == ""


def test_every_code_of_measures_has_words() -> None:
    """A way, an input, a reason or a ruling without its words is found in the templates."""
    sources = templates()
    for name, codes in {
        "_pair.html.j2": get_args(Way),
        "_response.html.j2": (*get_args(InputName), *get_args(Why)),
        "_magnet.html.j2": (*get_args(Ruling), *get_args(NoCeiling)),
    }.items():
        for code in codes:
            assert f'"{code}"' in sources[name], f"{name}: {code}"


def test_a_reversed_pair_and_a_long_coil_are_told_apart() -> None:
    """The template's words for each of the four outcomes that two coils can have."""
    env = environment(templates())
    env.globals["invented"] = False
    rows: dict[tuple[str, str], str] = {}
    for strings in ("add", "cancel"):
        for hum in ("adds", "cancels"):
            phase = pair_page.PhaseView(True, (), True, True, strings, hum, ())
            view = pair_page.PairView((), "5 %", phase)
            rows[strings, hum] = env.get_template("_pair.html.j2").render(
                root="../../", pair_view=view
            )
    assert "usual connection" in rows["add", "cancels"]
    assert "one long coil" in rows["add", "adds"]
    for hum in ("adds", "cancels"):
        assert "out of phase" in rows["cancel", hum]


def test_figures_are_written_as_far_as_they_are_known(book: Book) -> None:
    """By hand: prefixes of loads, and no view for a piece without a reading."""
    texts = [response_page.load_text(c) for c in (UNLOADED, *EXAMPLE_LOADS)]
    assert [(t.volume, t.tone) for t in texts[1:]] == [
        ("500\N{NO-BREAK SPACE}kΩ", "500\N{NO-BREAK SPACE}kΩ with 22\N{NO-BREAK SPACE}nF"),
        ("250\N{NO-BREAK SPACE}kΩ", "500\N{NO-BREAK SPACE}kΩ with 22\N{NO-BREAK SPACE}nF"),
    ]
    assert {(t.cable, t.input) for t in texts[1:]} == {
        ("500\N{NO-BREAK SPACE}pF", "1\N{NO-BREAK SPACE}MΩ")
    }
    assert (texts[0].volume, texts[0].tone, texts[0].cable, texts[0].input) == ("", "", "", "")
    whole = book.whole(book.archive.pieces["bare"])
    assert response_page.view(whole, invented=True) is None
    assert magnet_page.view(book, whole) is None
    assert pair_page.view(whole, make_property()).sums == ()
