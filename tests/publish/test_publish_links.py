"""Our own link check: what it must find, what it must let pass, and what it reads.

The rules of addresses are those of RFC 3986 (relative resolution, percent-encoding) and of HTML.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from coilbook.publish.links import check_links
from counted import calls_of


def site(folder: Path, **pages: str) -> Path:
    """Write a site of pages; ``a__b`` stands for ``a/b``, and each is its folder's index.html."""
    for name, text in pages.items():
        path = folder / name.replace("__", "/") / "index.html"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"<!doctype html><html><body>{text}</body></html>", encoding="utf-8")
    return folder


def faults(folder: Path) -> list[tuple[str, str]]:
    """Return (target, fault) of every dead link."""
    return [(link.target, link.fault) for link in check_links(folder)]


@pytest.mark.parametrize(
    ("markup", "target", "fault"),
    [
        ('<a href="../b/inde.html">x</a>', "../b/inde.html", "missing"),
        ("<a href='nothing.html'>x</a>", "nothing.html", "missing"),
        ("<a href=nothing.html>x</a>", "nothing.html", "missing"),
        ('<a title="a > b"\n  href="gone.html">x</a>', "gone.html", "missing"),
        ('<a href="../b/">x</a>', "../b/", "missing"),
        ('<a href="../b/index.html#no">x</a>', "../b/index.html#no", "no such place"),
        ('<a href="#no">x</a>', "#no", "no such place"),
        ('<a href="/b/index.html">x</a>', "/b/index.html", "absolute"),
        ('<a href="javascript:void(0)">x</a>', "javascript:void(0)", "missing"),
        ('<img src="gone.png">', "gone.png", "missing"),
        ('<img src="">', "", "missing"),
        ('<img srcset="a.png 1x, b.png 2x">', "b.png", "missing"),
        ('<video poster="p.jpg"></video>', "p.jpg", "missing"),
        ('<object data="o.svg"></object>', "o.svg", "missing"),
        ('<div data-cb-src="../x.js"></div>', "../x.js", "missing"),
        ('<form action="gone.html"></form>', "gone.html", "missing"),
        ('<script src="gone.js"></script>', "gone.js", "missing"),
        ('<p style="background:url(gone.png)">x</p>', "gone.png", "missing"),
        ("<style>p { background: url('gone.png') }</style>", "gone.png", "missing"),
        ('<img src="https://x.example/a.png">', "https://x.example/a.png", "loads from elsewhere"),
        ('<img src="//x.example/a.png">', "//x.example/a.png", "loads from elsewhere"),
        (
            '<link rel="stylesheet" href="https://x.example/a.css">',
            "https://x.example/a.css",
            "loads from elsewhere",
        ),
        (
            '<script src="https://x.example/a.js"></script>',
            "https://x.example/a.js",
            "loads from elsewhere",
        ),
        (
            '<style>@import "https://x.example/a.css";</style>',
            "https://x.example/a.css",
            "loads from elsewhere",
        ),
        (
            '<form action="https://x.example/"></form>',
            "https://x.example/",
            "loads from elsewhere",
        ),
        ('<base href="/x/">', "<base>", "base"),
    ],
)
def test_every_kind_of_dead_link_is_found(
    tmp_path: Path, markup: str, target: str, fault: str
) -> None:
    """Each way of pointing nowhere, or of loading from elsewhere, is told with its page."""
    site(tmp_path, a=markup, b='<p id="yes">x</p>')
    (tmp_path / "a" / "a.png").write_bytes(b"")

    assert (target, fault) in faults(tmp_path)
    assert all(link.page == "a/index.html" for link in check_links(tmp_path))


@pytest.mark.parametrize(
    "markup",
    [
        '<a href="../b/index.html">x</a>',
        '<a href="../b/index.html#yes">x</a>',
        '<a href="../b/index.html#m%C3%BCde">x</a>',
        '<a href="../b/index.html#a&amp;b">x</a>',
        '<a href="../c%20d/index.html">x</a>',
        '<a href="../b/index.html?x=1">x</a>',
        '<a href="../b/index.html#words=rod&amp;state=untouched">x</a>',
        '<a href="https://x.example/page">x</a>',
        '<a href="mailto:someone@x.example">x</a>',
        '<a href="#">x</a><a href="#top">x</a><a href="">x</a>',
        '<link rel="canonical" href="https://x.example/a/">',
        '<img src="data:image/png;base64,AAAA">',
        '<!-- <a href="gone.html">x</a> -->',
        "<script>var a = '<a href=\"gone.html\">';</script>",
        '<p>Write href="gone.html" in the tag.</p>',
        '<div data-label="kΩ at 20 °C" data-name="x/y.png"></div>',
        '<svg><use href="#yes2"/><g id="yes2"/></svg>',
    ],
)
def test_sound_links_and_mere_text_pass(tmp_path: Path, markup: str) -> None:
    """Nothing that leads somewhere, or is no link at all, is held against a site."""
    site(tmp_path, a=markup, b='<p id="yes">x</p><p id="müde">x</p><a name="a&amp;b">x</a>')
    site(tmp_path, **{"c d": "x"})

    assert faults(tmp_path) == []


def test_style_sheets_are_checked(tmp_path: Path) -> None:
    """A style sheet's addresses count from its own folder; what is commented out does not count."""
    (tmp_path / "css").mkdir()
    (tmp_path / "dot.png").write_bytes(b"")
    (tmp_path / "css" / "a.css").write_text(
        "/* url(gone1.png) */ a{background:url(../dot.png)} b{background:url('dot.png')} "
        "i{fill:url(#shade)}",
        encoding="utf-8",
    )

    assert faults(tmp_path) == [("dot.png", "missing")]


def test_the_not_found_page_may_have_a_base(tmp_path: Path) -> None:
    """404.html stands at the top, where its base puts it; its links are still followed."""
    (tmp_path / "404.html").write_text('<base href="/"><a href="gone.html">x</a>', encoding="utf-8")

    assert faults(tmp_path) == [("gone.html", "missing")]


def test_a_tag_met_before_is_not_taken_apart_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each page is read once, and one more of 100 KB like the others costs few calls a link.

    So the check can be part of every build: a site repeats most of its tags thousands of times.
    """
    rows = "".join(
        f'<tr id="r{n}"><th scope="row"><a href="../p{n % 20}/index.html#r{n}">p-{n:04d}</a></th>'
        f'<td data-label="Bridge" class="cb-n">{n / 7:.2f} kΩ</td><td>words and words</td></tr>\n'
        for n in range(700)
    )
    body = f"<table>{rows}</table>"
    site(tmp_path, **{f"p{i}": body for i in range(20)})
    assert (tmp_path / "p0" / "index.html").stat().st_size > 100_000
    read: list[Path] = []
    whole = Path.read_text

    def noted(path: Path, encoding: str | None = None) -> str:
        read.append(path)
        return whole(path, encoding=encoding)

    monkeypatch.setattr(Path, "read_text", noted)
    assert faults(tmp_path) == []
    assert len(read) == len(set(read)) == 20
    _, calls = calls_of(lambda: faults(tmp_path))
    site(tmp_path, one_more=body)
    found, more = calls_of(lambda: faults(tmp_path))
    assert found == []
    assert more - calls <= 35 * 700
