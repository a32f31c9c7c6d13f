"""The articles as they stand in the built site: linked, drawn, and no figure without its link."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from coilbook.publish import BuildReport
from coilbook.resources import site_src_dir

ARTICLES = ("guide", "sound", "ageing", "leave-alone", "rewinding", "cautions")
#: Pages that articles lead to, and no template does.
BESIDES = ("first-hour", "glossary")
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


@pytest.mark.parametrize("name", [*ARTICLES, *BESIDES])
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


@pytest.mark.parametrize("name", [*ARTICLES[:-1], *BESIDES])
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
    every = (*ARTICLES, *BESIDES)
    to = {
        name: {
            other
            for other in every
            if other != name and f"../{other}/index.html" in article(demo_site, name)
        }
        for name in every
    }
    for name, near in to.items():
        assert near | {far for step in near for far in to[step]} | {name} == set(every), name


#: What can hurt somebody, and a word that its section has to have; common practice of the trade.
DANGERS = {
    "solder-and-fumes": ("isocyanates", "Lead", "extraction"),
    "hot-wax": ("melting point", "water bath", "flame", "lid"),
    "resin-and-glue": ("hardener", "Instant glue"),
    "solvents-on-old-plastics": ("Cellulose nitrate", "catch fire"),
    "magnets-and-chargers": ("Swallowed", "pacemaker", "hospital"),
    "nickel": ("allergy",),
    "mains-equipment": ("two-wire", "chassis"),
    "old-capacitors": ("PCB", "Discharging", "licensed people alone"),
    "winding-machines": ("hair",),
    "old-insulation-and-finishes": ("Asbestos", "cadmium"),
    "high-voltage-insulation-testers": ("shock",),
}
#: What says that somebody else has the last word.
DEFERS = re.compile(r"local|licensed|data sheet|doctor", re.IGNORECASE)
#: Work on other pages, and the caution that has to stand in the same section.
AT_THE_WORK = (
    ("guide", "resistance", "solder-and-fumes"),
    ("guide", "flux", "magnets-and-chargers"),
    ("guide", "wire", "solder-and-fumes"),
    ("guide", "insulation", "high-voltage-insulation-testers"),
    ("ageing", "magnets", "magnets-and-chargers"),
    ("ageing", "wax", "hot-wax"),
    ("ageing", "wax", "resin-and-glue"),
    ("ageing", "plastics", "solvents-on-old-plastics"),
    ("ageing", "plastics", "old-insulation-and-finishes"),
    ("ageing", "leads", "old-capacitors"),
    ("leave-alone", "instead", "mains-equipment"),
    ("leave-alone", "instead", "old-capacitors"),
    ("leave-alone", "fix", "solder-and-fumes"),
    ("rewinding", "take-off", "old-insulation-and-finishes"),
    ("rewinding", "take-off", "fine-wire"),
    ("rewinding", "wind", "solder-and-fumes"),
    ("rewinding", "wind", "hot-wax"),
    ("rewinding", "wind", "resin-and-glue"),
    ("rewinding", "wind", "winding-machines"),
)


def part(text: str, anchor: str) -> str:
    """Return what stands between a heading of the second rank and the next one."""
    found = re.search(rf'<h2 id="{anchor}">(.*?)(?:<h2 |\Z)', text, re.DOTALL)
    assert found, anchor
    return found[1]


def test_the_cautions_name_each_danger_and_who_has_the_last_word(demo_site: BuildReport) -> None:
    """Each has a section of its own with its words, which defers to codes or licensed practice."""
    text = article(demo_site, "cautions")
    for anchor, words in DANGERS.items():
        said = re.sub(r"<[^>]+>", "", part(text, anchor))
        assert [word for word in words if word not in said] == [], anchor
        assert DEFERS.search(said), anchor


@pytest.mark.parametrize(("page", "section", "caution"), AT_THE_WORK)
def test_a_caution_stands_where_the_work_is(
    demo_site: BuildReport, page: str, section: str, caution: str
) -> None:
    """The section that tells of the work leads to its caution, which is there."""
    assert f"cautions/index.html#{caution}" in part(article(demo_site, page), section)
    assert f'id="{caution}"' in article(demo_site, "cautions")


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
