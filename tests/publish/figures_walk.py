"""Figures of a page, and whether each has a way to its evidence.

A figure is a number with a unit in running text, a table's cell that is a number, a plot, or a
drawing. Its way to the evidence is a link that speaks for it:

- a link in a table's row or a list's item speaks for that row or item alone;
- any other link speaks for its whole part: what stands under one heading, or in one figure, up to
  the next; one in a fold speaks for the fold alone.

A link counts if it leads to something that evidence stands in: a mark's meaning, a source, a
method, a place on a family's or material's page, a piece's page, an instrument, or the data.
Headings and heads of tables state names, units and conditions, and hold no figures of their own.
What a reader types, formulas in their letters, and ``code`` (how to write a value) hold none
either; nor does the condition "at 20 °C", under which every resistance stands.

Pages are read with one regular expression: a parser of the standard library takes ten times as long
on a site of hundreds of pages.
"""

from __future__ import annotations

import html
import posixpath
import re
from dataclasses import dataclass, field

_UNITS = (
    "kΩ", "MΩ", "Ω/km", "Ω", "H/kΩ²", "mH", "H", "pF", "nF", "µF", "kHz", "Hz", "mT", "T", "G",
    "mm", "cm", "m", "kg/m³", "g", "dB", "%", "°C", "°F", "K", "turns", "kA/m", "kJ/m³",
    "AWG", "nΩ·m", "V", "W", "Ω·mm²/m",
)  # fmt: skip
_NUMBER = r"\d[\d\u202f]*(?:[.,]\d+)?"
#: A number and its unit; a hyphen or a letter before it makes it part of a name, and "in" before
#: another word is the preposition.
FIGURE = re.compile(
    rf"(?<![\w.\-])(?!(?<=at )20 °C){_NUMBER}[\s\u00a0\u202f]*"
    rf"(?:(?:{'|'.join(map(re.escape, _UNITS))})(?![\w/])|in(?![\w/])(?!\s+[a-z]))"
)
_NUMBER_CELL = re.compile(rf"[+\u2212−±<>≥≤ ]*{_NUMBER}(?:[\s\u00a0\u202f±–×/]+{_NUMBER})*\s*\Z")

#: Places that evidence stands in, as paths within the site; a place after # is needed where shown.
_LEADS = re.compile(
    r"evidence/index\.html#.+|sources/index\.html#.+|methods/index\.html#.+"
    r"|methods/observations/index\.html.*|families/[^/]+/index\.html#.+"
    r"|materials/[^/]+/index\.html.*|pieces/[^/]+/index\.html.*|instruments/index\.html.*"
    r"|crosscheck/index\.html.*|data/(?:index\.html|[^/]+\.(?:csv|json))"
)
_VOID = frozenset(
    {"area", "base", "br", "col", "hr", "img", "input", "link", "meta", "source", "wbr"}
)
_HEADINGS = frozenset({"h1", "h2", "h3", "h4"})
_PARTS = frozenset({"section", "figure", "details", "article"})
_SCOPES = frozenset({"tr", "li", "dd"})
#: What is passed over whole.
_QUIET = (
    frozenset(
        {"script", "style", "code", "math", "nav", "thead", "select", "option", "noscript", "label"}
    )
    | _HEADINGS
)


@dataclass(frozen=True, slots=True)
class Loose:
    """A figure that no link leads away from."""

    page: str
    line: int
    text: str

    def __str__(self) -> str:
        return f"{self.page}:{self.line}: {self.text}"


@dataclass(eq=False, slots=True)
class _Part:
    #: What a fold lies in: what speaks for that speaks for the fold, and not the other way round.
    outer: _Part | None = None
    links: list[object] = field(default_factory=list)

    def speaks_for(self, scopes: tuple[object, ...]) -> bool:
        if any(link is None or link in scopes for link in self.links):
            return True
        return self.outer is not None and self.outer.speaks_for(scopes)


@dataclass(eq=False, slots=True)
class _Frame:
    tag: str
    part: _Part
    scopes: tuple[object, ...]
    quiet: bool
    cell: list[str] | None = None
    at: int = 0


@dataclass(frozen=True, slots=True)
class Walked:
    """What was found on one page."""

    figures: int
    loose: tuple[Loose, ...]
    links: tuple[str, ...]


_INSIDE = r"(?:[^<>\"']++|\"[^\"]*+\"|'[^']*+')*+"
_TOKEN = re.compile(
    r"([^<]++)|<(?:!--.*?-->|(script|style|math|select)\b.*?</\2\s*>"
    rf"|svg\b({_INSIDE})>.*?</svg\s*>"
    rf"|(/?)([a-z][a-z0-9-]*)({_INSIDE})>)",
    re.DOTALL,
)
_ARTICLE = re.compile(r"<article\b.*</article>", re.DOTALL)
_HREF = re.compile(r"\shref=\"([^\"]*)\"")
_LABEL = re.compile(r"\saria-label=\"([^\"]*)\"")
_DIGIT = re.compile(r"\d")


class _Walk:
    def __init__(self, page: str) -> None:
        self._page = page
        self._folder = posixpath.dirname(page)
        self._frames = [_Frame("", _Part(), (), quiet=False)]
        self.figures: list[tuple[_Part, tuple[object, ...], int, str]] = []
        self.links: dict[str, None] = {}

    def open(self, tag: str, inside: str, at: int) -> None:
        top = self._frames[-1]
        part = _Part(top.part if tag == "details" else None) if tag in _PARTS else top.part
        if tag in _HEADINGS and top.tag != "figure":
            top.part = part = _Part()
        scopes = (*top.scopes, object()) if tag in _SCOPES else top.scopes
        quiet = top.quiet or tag in _QUIET or 'aria-hidden="true"' in inside
        frame = _Frame(tag, part, scopes, quiet)
        if tag == "td":
            frame.cell, frame.at = [], at
        self._frames.append(frame)
        if tag == "a" and (href := _HREF.search(inside)):
            self._note_link(html.unescape(href[1]), frame)
        if "data-cb-plot" in inside and not quiet:
            self.figures.append((part, scopes, at, "a plot"))

    def drawing(self, inside: str, at: int) -> None:
        top = self._frames[-1]
        if 'role="img"' in inside and not top.quiet:
            label = _LABEL.search(inside)
            words = f"a drawing: {label[1] if label else ''}"
            self.figures.append((top.part, top.scopes, at, words))

    def close(self, tag: str) -> None:
        if self._frames[-1].tag != tag and all(frame.tag != tag for frame in self._frames):
            return
        while True:
            frame = self._frames.pop()
            if frame.cell is not None and not frame.quiet:
                text = html.unescape("".join(frame.cell)).strip()
                if _NUMBER_CELL.match(text):
                    self.figures.append((frame.part, frame.scopes, frame.at, text))
            if frame.tag == tag:
                return

    def text(self, text: str, at: int) -> None:
        if not _DIGIT.search(text) and self._frames[-1].tag != "td":
            return
        for outer in reversed(self._frames):
            if outer.cell is not None:
                outer.cell.append(text)
                break
        frame = self._frames[-1]
        if not frame.quiet:
            for found in FIGURE.finditer(html.unescape(text)):
                self.figures.append((frame.part, frame.scopes, at, found[0]))

    def _note_link(self, href: str, frame: _Frame) -> None:
        address, mark, place = href.partition("#")
        target = self._page
        if address:
            target = posixpath.normpath(posixpath.join(self._folder, address))
        if (address or place) and _LEADS.fullmatch(target + mark + place):
            self.links[target + mark + place] = None
            frame.part.links.append(frame.scopes[-1] if frame.scopes else None)


def walk_page(page: str, text: str) -> Walked:
    """Walk a page of a built site; ``page`` is its path there."""
    article = _ARTICLE.search(text)
    start, end = article.span() if article else (0, len(text))
    walk = _Walk(page)
    for token in _TOKEN.finditer(text, start, end):
        words, _, drawing, closing, tag, inside = token.groups()
        if words is not None:
            walk.text(words, token.start())
        elif drawing is not None:
            walk.drawing(drawing, token.start())
        elif tag is not None:
            if closing:
                walk.close(tag)
            elif tag not in _VOID and not inside.endswith("/"):
                walk.open(tag, inside, token.start())
    loose = tuple(
        Loose(page, text.count("\n", 0, at) + 1, words)
        for part, scopes, at, words in walk.figures
        if not part.speaks_for(scopes)
    )
    return Walked(len(walk.figures), loose, tuple(walk.links))
