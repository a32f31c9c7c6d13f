"""The engine's plugin: permanent paths, search entries, formulas, and faults that stop a build."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from pathlib import Path

import publish_bench as bench
import pytest
from mkdocs.exceptions import PluginError

from coilbook.errors import SiteBroken
from coilbook.pages.page import PageOut
from coilbook.publish import engine
from coilbook.publish.plugin import mathml
from coilbook.publish.results import Assets

NO_ASSETS = Assets({}, {})


def run(out: Path, *pages: PageOut, assets: Assets = NO_ASSETS, **settings: object) -> Path:
    """Run the engine over pages of an invented archive."""
    archive = bench.archive("invented", **settings)
    engine.run_engine(bench.content(*pages).pages, assets, archive.settings, out)
    return out


def test_every_page_is_its_folders_index(sources: Path, tmp_path: Path) -> None:
    """Prose and record pages alike stand at <folder>/index.html, for permanent addresses."""
    (sources / "prose" / "guide.md").write_text("# Guide\n\ntext", encoding="utf-8")
    out = run(tmp_path / "out", bench.page("pieces/a-1/index.html"))

    pages = {p.relative_to(out).as_posix() for p in out.rglob("*.html")} - {"404.html"}
    assert {"guide/index.html", "pieces/a-1/index.html"} < pages
    assert all(page.endswith("index.html") for page in pages)


def test_prose_may_link_to_record_pages(sources: Path, tmp_path: Path) -> None:
    """A link to a record page's .md address is turned into its page's address."""
    (sources / "prose" / "guide").mkdir()
    (sources / "prose" / "guide" / "index.md").write_text(
        "# Guide\n\n[a](../pieces/a-1/index.md#x)", encoding="utf-8"
    )
    out = run(tmp_path / "out", bench.page("pieces/a-1/index.html", '<h1 id="x">A</h1>'))

    html = (out / "guide" / "index.html").read_text(encoding="utf-8")
    assert 'href="../pieces/a-1/index.html#x"' in html


def test_a_record_pages_html_is_left_alone(sources: Path, tmp_path: Path) -> None:
    """Ready HTML is never read as Markdown: stars, dollars and underscores stay as they are."""
    html = "<h1>A</h1><p>*not* _this_ $5 &amp; <b>bold</b></p>\n\n    four spaces"
    out = run(tmp_path / "out", bench.page("x/index.html", html))

    assert html in (out / "x" / "index.html").read_text(encoding="utf-8")


def test_search_has_one_short_entry_for_each_record_page_that_wants_one(
    sources: Path, tmp_path: Path
) -> None:
    """A record page is found by its entry alone, prose by its sections; blank ones are left out."""
    (sources / "prose" / "guide.md").write_text("# Guide\n\nwarm the meter", encoding="utf-8")
    out = run(
        tmp_path / "out",
        bench.page(
            "pieces/a-1/index.html",
            "<h1>A</h1><p>long hidden words</p>",
            search_title="Piece a-1",
            search_text="neck & <b>",
        ),
        bench.page("quiet/index.html", "<h1>Quiet</h1>"),
    )

    docs = json.loads((out / "search" / "search_index.json").read_text(encoding="utf-8"))["docs"]
    found = {doc["location"]: doc for doc in docs}
    assert found["pieces/a-1/index.html"] == {
        "location": "pieces/a-1/index.html",
        "title": "Piece a-1",
        "text": "neck &amp; &lt;b&gt;",
    }
    assert "quiet/index.html" not in found
    assert "warm the meter" in found["guide/index.html"]["text"]
    assert "long hidden words" not in json.dumps(docs)


def test_the_invented_mark_is_on_every_page(sources: Path, tmp_path: Path) -> None:
    """Every page of an invented archive says so before anything else, the not-found page too."""
    (sources / "prose" / "guide.md").write_text("# Guide", encoding="utf-8")
    out = run(tmp_path / "out")

    for path in out.rglob("*.html"):
        text = path.read_text(encoding="utf-8")
        assert text.count("◇ invented</span> records of an invented shop") == 1, path
        assert text.index("◇ invented") < text.index("<h1")


def test_nothing_of_the_engine_shows(sources: Path, tmp_path: Path) -> None:
    """No generator's name, advert, map, font or style sheet of the theme is in the site."""
    out = run(tmp_path / "out")

    names = {p.relative_to(out).as_posix() for p in out.rglob("*") if p.is_file()}
    assert not [n for n in names if n.endswith(".map") or "stylesheets" in n or "lunr/" in n]
    for path in out.rglob("*.html"):
        text = path.read_text(encoding="utf-8").lower()
        assert "generator" not in text
        assert "made with" not in text
        assert "https://" not in text


def test_canonical_addresses_end_in_a_slash(sources: Path, tmp_path: Path) -> None:
    """With a base address, pages name their permanent one, and the map of the site has the same."""
    out = run(tmp_path / "out", base_url="https://x.example/shop/")

    page = (out / "pieces" / "index.html").read_text(encoding="utf-8")
    assert '<link rel="canonical" href="https://x.example/shop/pieces/">' in page
    assert "https://x.example/shop/pieces/</loc>" in (out / "sitemap.xml").read_text()
    assert '"/shop/"' in (out / "404.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("prose", "told"),
    [
        ("# A\n\n[x](gone.md)", "gone.md"),
        ("# A\n\n[x](#nowhere)", "#nowhere"),
        ("# A\n\n[x](/pieces/)", "absolute link"),
        ("# A\n\n[x](folder/)", "unrecognized relative link"),
        ("# A\n\n$a^b^c$", "cannot be read"),
        ("# A\n\n$\\rhoo$", "\\rhoo"),
        ("# A\n\n<!-- figure: gone -->", "There is no figure 'gone'"),
    ],
)
def test_a_slip_in_prose_stops_the_build(
    sources: Path, tmp_path: Path, prose: str, told: str
) -> None:
    """A dead link, a missing place, formula or figure is an error with the page's name."""
    (sources / "prose" / "guide.md").write_text(prose, encoding="utf-8")

    with pytest.raises(SiteBroken) as caught:
        run(tmp_path / "out")
    assert told in str(caught.value)
    assert "guide.md" in str(caught.value)


def test_two_sources_of_one_page_are_refused(sources: Path, tmp_path: Path) -> None:
    """A record page never silently takes the place of prose."""
    (sources / "prose" / "pieces").mkdir()
    (sources / "prose" / "pieces" / "index.md").write_text("# A", encoding="utf-8")

    with pytest.raises(SiteBroken, match=r"Two sources want to be the file 'pieces/index.html'"):
        run(tmp_path / "out")


def test_formulas_become_well_formed_mathml() -> None:
    """Marked LaTeX turns into MathML of the right kind (W3C MathML Core: inline and block)."""
    html = mathml(
        '<p>a <span class="arithmatex">\\(a &lt; b\\)</span></p>'
        '<div class="arithmatex">\\[\nR = \\rho \\frac{l}{A}\n\\]</div>',
        "x.md",
    )
    namespace = "{http://www.w3.org/1998/Math/MathML}"
    inline, block = ET.fromstring(f"<div>{html}</div>").iter(f"{namespace}math")
    assert (inline.get("display"), block.get("display")) == ("inline", "block")
    assert "".join(inline.itertext()) == "a<b"
    assert block.find(f".//{namespace}mfrac") is not None
    assert "\\" not in html


def test_a_broken_formula_names_its_page() -> None:
    """The error of a formula says which formula on which page, for slips and unknown commands."""
    for latex in ("a^b^c", "2 \\rhoo"):
        with pytest.raises(PluginError, match=r"on x\.md cannot be read"):
            mathml(f'<span class="arithmatex">\\({latex}\\)</span>', "x.md")


def test_the_plotting_script_is_the_installed_packages() -> None:
    """The script that is copied into a site is the one that plotly's own package carries."""
    import plotly.offline

    assert engine.plot_library().read_text(encoding="utf-8") == plotly.offline.get_plotlyjs()
