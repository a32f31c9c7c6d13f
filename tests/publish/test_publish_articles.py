"""The articles as they stand in the built site: linked, drawn, and no figure without its link."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from coilbook.publish import BuildReport
from coilbook.resources import site_src_dir

ARTICLES = ("guide", "sound", "ageing", "leave-alone", "rewinding", "cautions")
#: Where a figure in an article may come from: records, their sources, methods, calculators.
FROM = re.compile(
    r'href="\.\./(?:families|pieces|materials|methods|calculators|sources|winding|instruments|data)/'
)
FIGURE = re.compile(
    r"\d\s*(?:%|°C|K\b|[kM]?Ω|H\b|[pnµ]F\b|m?T\b|G\b|mm\b|in\b|k?Hz\b|dB\b|V\b|AWG|turns|years)"
)
BLOCKS = ("p", "li", "tr", "figure", "dd")
AMERICAN = re.compile(
    r"\b(?:color\w*|center\w*|gray\w*|fiber\w*|aluminum|"
    r"magnetiz\w*|recogniz\w*|mold\w*|vapor|odor|behavior\w*|labeled|millimeter\w*)\b",
    re.IGNORECASE,
)


class _Blocks(HTMLParser):
    """Collects the outermost blocks of a page: their markup, and their text without code."""

    def __init__(self) -> None:
        super().__init__()
        self.blocks: list[tuple[str, str]] = []
        self._open: list[str] = []
        self._markup = self._text = ""
        self._code = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in BLOCKS:
            self._open.append(tag)
        if self._open:
            self._markup += self.get_starttag_text() or ""
        self._code += tag in ("code", "pre")

    def handle_endtag(self, tag: str) -> None:
        self._code -= tag in ("code", "pre")
        if self._open and tag == self._open[-1]:
            self._open.pop()
            if not self._open:
                self.blocks.append((self._markup, " ".join(self._text.split())))
                self._markup = self._text = ""

    def handle_data(self, data: str) -> None:
        if self._open and not self._code:
            self._text += data


def article(site: BuildReport, name: str) -> str:
    """Return the inside of an article's page, without the shell round it."""
    text = (site.out / name / "index.html").read_text(encoding="utf-8")
    found = re.search(r"<article[^>]*>(.*?)</article>", text, re.DOTALL)
    assert found
    return found[1]


@pytest.mark.parametrize("name", ARTICLES)
def test_each_article_is_linked_from_pages_made_from_records(
    demo_site: BuildReport, name: str
) -> None:
    """At least two templates lead to it, and so do pages of the site that came of them."""
    link = "{{ root }}" + name + "/index.html"
    templates = sorted((site_src_dir() / "templates").glob("*.html.j2"))
    # The next steps of observations hold their articles in a table.
    named = f'("{name}/index.html'
    having = [p.name for p in templates if link in (t := p.read_text("utf-8")) or named in t]
    assert len(having) >= 2, having
    kinds = ("families/*/index.html", "pieces/*/index.html", "winding/*/index.html",
             "calculators/index.html", "methods/index.html", "index.html",
             "materials/*/index.html")  # fmt: skip
    first = [next(iter(sorted(demo_site.out.glob(kind)))) for kind in kinds]
    linked = [
        page
        for page in first
        if re.search(rf'href="(?:\.\./)*{name}/index\.html', page.read_text("utf-8"))
    ]
    assert len(linked) >= 2, [p.relative_to(demo_site.out).as_posix() for p in linked]


@pytest.mark.parametrize("name", ARTICLES)
def test_no_figure_in_an_article_floats_free(demo_site: BuildReport, name: str) -> None:
    """Each paragraph, table line or drawing that has a number with a unit links to its origin."""
    blocks = _Blocks()
    blocks.feed(article(demo_site, name))
    assert len(blocks.blocks) > 8
    free = [
        text for markup, text in blocks.blocks if FIGURE.search(text) and not FROM.search(markup)
    ]
    assert free == []


def test_the_search_for_free_figures_finds_one() -> None:
    """A paragraph with a number and no link is found, one with a link or in code is not."""
    blocks = _Blocks()
    blocks.feed(
        "<p>8.1 kΩ</p><p>8.1 kΩ <a href='x'>x</a></p><p><code>5 kΩ</code></p>"
        '<p>8.1 kΩ <a href="../methods/index.html">how</a></p>'
    )
    free = [bool(FIGURE.search(t) and not FROM.search(m)) for m, t in blocks.blocks]
    assert free == [True, True, False, False]


@pytest.mark.parametrize("name", ARTICLES[:-1])
def test_each_article_is_drawn_and_the_drawings_speak(demo_site: BuildReport, name: str) -> None:
    """Every drawing has a title and a description that its label names, and a caption."""
    text = article(demo_site, name)
    drawings = re.findall(r'<figure class="cb-art">(.*?)</figure>', text, re.DOTALL)
    assert drawings
    for drawing in drawings:
        assert "<figcaption>" in drawing
        if "<svg" not in drawing:
            continue
        label = re.search(r'role="img" aria-labelledby="(\S+) (\S+)"', drawing)
        assert label
        assert f'<title id="{label[1]}">' in drawing
        assert f'<desc id="{label[2]}">' in drawing
        assert not re.search(r'(?:fill|stroke)="', drawing), "colours come from the style sheet"


def test_articles_lead_to_each_other_and_to_the_cautions(demo_site: BuildReport) -> None:
    """From any article every other one is two steps away at most, and the cautions one or two."""
    to = {
        name: {
            other
            for other in ARTICLES
            if other != name and f"../{other}/index.html" in article(demo_site, name)
        }
        for name in ARTICLES
    }
    for name, near in to.items():
        assert near | {far for step in near for far in to[step]} | {name} == set(ARTICLES), name


@pytest.mark.parametrize(
    "page", sorted((site_src_dir() / "prose").rglob("index.md")), ids=lambda p: p.parent.name
)
def test_prose_is_spelt_in_british(page: Path) -> None:
    """None of the usual American spellings stands in a prose page (Oxford's list, from memory)."""
    text = re.sub(r"`[^`]*`|\{[^}]*\}|\([^)]*\)|<[^>]*>", "", page.read_text("utf-8"))
    assert AMERICAN.findall(text) == []


def test_the_search_for_american_spelling_finds_it() -> None:
    """Each pattern meets what it is for, and none of the British forms."""
    assert AMERICAN.findall("color centered gray fiber magnetized") != []
    assert AMERICAN.findall("colour coloured centre grey fibre magnetised aluminium mould") == []
