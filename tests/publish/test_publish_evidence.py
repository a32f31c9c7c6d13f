"""Every figure on every page of the demo has a way to its evidence, and every such way leads on."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest
from figures_walk import walk_page

from coilbook.publish import BuildReport


@pytest.mark.slow
def test_every_figure_of_the_site_has_a_way_to_its_evidence(demo_site: BuildReport) -> None:
    """On no page stands a figure that no link speaks for; each link leads to a place that is there.

    Of the pieces' pages, which one template makes, every third is walked.

    A page that loses its links is noticed: the same page without them has figures that are loose.
    """
    site = demo_site.out

    @cache
    def places(name: str) -> frozenset[str]:
        text = (site / name).read_text(encoding="utf-8")
        return frozenset(re.findall(r'\sid="([^"]+)"', text))

    figures, pages, loose, dead = 0, 0, [], []
    others = [path for path in sorted(site.rglob("*.html")) if path.parents[1] != site / "pieces"]
    some = sorted(site.glob("pieces/*/index.html"))[::3]
    for path in (*others, *some):
        name = path.relative_to(site).as_posix()
        walked = walk_page(name, path.read_text(encoding="utf-8"))
        figures += walked.figures
        pages += 1
        loose += walked.loose
        for link in walked.links:
            target, _, place = link.partition("#")
            if not (site / target).is_file() or (place and place not in places(target)):
                dead.append(f"{name}: {link}")
    assert [str(one) for one in loose] == []
    assert dead == []
    assert pages > demo_site.pages - demo_site.pieces
    # Some hundred pieces with their readings, verdicts and budgets: far fewer were not walked.
    assert figures > 400 * len(some)

    whole = (site / "families" / "full-size-humbucker" / "index.html").read_text(encoding="utf-8")
    bare = re.sub(r'\shref="[^"]*"', "", whole)
    assert len(walk_page("families/x/index.html", bare).loose) > 100


def _page(inside: str) -> str:
    return f"<html><body><p>1 mm</p><article>{inside}</article></body></html>"


#: Pages made bad on purpose, and what is counted as loose on each.
BAD = {
    "a figure in text": ("<h2>A</h2><p>It reads 8.1 kΩ.</p>", ["8.1 kΩ"]),
    "a fraction of an inch": ("<p>It is 1 15/16 in long, or 2 in.</p>", ["2 in"]),
    "a cell that is a number": ("<table><tr><th>x</th><td>0.0635</td></tr></table>", ["0.0635"]),
    "a cell of two numbers": ("<table><tr><td>4.04 ± 0.39</td></tr></table>", ["4.04 ± 0.39"]),
    "a link in another row": (
        '<table><tr><td><a href="../evidence/index.html#recalled">r</a> 1 mm</td></tr>'
        "<tr><td>2 mm</td></tr></table>",
        ["2 mm"],
    ),
    "a link in another item": (
        '<ul><li><a href="../sources/index.html#s">s</a> 1 mm</li><li>2 mm</li></ul>',
        ["2 mm"],
    ),
    "a link under another heading": (
        '<h2>A</h2><p><a href="../methods/index.html#coil">m</a></p><h2>B</h2><p>5 turns</p>',
        ["5 turns"],
    ),
    "a link in a fold": (
        '<section><p>3 mT</p><details><a href="../sources/index.html#s">s</a></details></section>',
        ["3 mT"],
    ),
    "a plot": ("<figure data-cb-plot><h3>P</h3></figure>", ["a plot"]),
    "a drawing": ('<svg role="img" aria-label="A"><text>9 mm</text></svg>', ["a drawing: A"]),
    "a link to no evidence": ('<p><a href="../families/index.html">f</a> 7 %</p>', ["7 %"]),
    "a mark without its place": ('<p><a href="../evidence/index.html">e</a> 7 %</p>', ["7 %"]),
    "a source without its place": ('<p><a href="../sources/index.html">s</a> 7 %</p>', ["7 %"]),
}
GOOD = {
    "a link beside it": '<p><a href="../evidence/index.html#recalled">r</a> 8.1 kΩ</p>',
    "a link at the foot": "<h2>A</h2><p>8.1 kΩ</p><p><a href='x'>x</a></p>"
    '<p><a href="../sources/index.html#s">s</a></p>',
    "a fold within its section": '<section><p><a href="../sources/index.html#s">s</a></p>'
    "<details><p>3 mT</p></details></section>",
    "a place on the same page": '<p><a href="#readings">r</a> 8.1 kΩ</p>',
    "no figure at all": "<h2>At 20 °C</h2><p>page 3, 1957, at 20 °C, abc-12 mm, 8 in all</p>",
    "a way of writing": "<p><code>7.82 kΩ</code></p>",
    "a head of a table": "<table><thead><tr><th>20 °C</th></tr></thead></table>",
}


@pytest.mark.parametrize("case", BAD)
def test_a_page_made_bad_is_counted(case: str) -> None:
    """Each way of standing without evidence is found, and what lies beside the article is not."""
    inside, expected = BAD[case]
    assert [loose.text for loose in walk_page("x/index.html", _page(inside)).loose] == expected


@pytest.mark.parametrize("case", GOOD)
def test_a_sound_page_is_left_alone(case: str) -> None:
    """A figure with its link, and what is no figure, are not held against a page."""
    assert walk_page("pieces/x/index.html", _page(GOOD[case])).loose == ()


def test_the_place_in_the_page_is_told(tmp_path: Path) -> None:
    """A loose figure is told with its page and line, so that it can be mended."""
    walked = walk_page("x/index.html", "<article>\n<p>\n8 kΩ</p></article>")
    assert [str(loose) for loose in walked.loose] == ["x/index.html:2: 8 kΩ"]
