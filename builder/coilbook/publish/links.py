"""Our own check of a built site: every link leads somewhere, and nothing is loaded from elsewhere.

Pages are scanned with regular expressions that know tags, comments and scripts: an HTML parser in
Python takes some ten times as long on a site of hundreds of pages.
"""

from __future__ import annotations

import html
import posixpath
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Literal
from urllib.parse import unquote, urlsplit

#: Comments and the insides of scripts hold no links; what matters is whole tags and style sheets.
_INSIDE = r"(?:[^<>\"']++|\"[^\"]*+\"|'[^']*+')*+"
_TOKEN = re.compile(
    r"<!--.*?-->"
    rf"|<script\b({_INSIDE})>.*?</script\s*>"
    r"|<style\b[^>]*>(.*?)</style\s*>"
    rf"|<([a-z][a-z0-9:-]*+)(\s{_INSIDE})>",
    re.DOTALL | re.IGNORECASE,
)
#: An attribute of interest with its value, or another's value, which is passed over whole.
_ATTRIBUTE = re.compile(
    r"(?<=[\s\"'])(id|name|href|src|srcset|poster|action|data|style|xlink:href|data-[\w-]++)\s*+=\s*+"
    r"(?:\"([^\"]*+)\"|'([^']*+)'|([^\s\"'>]++))"
    r"|\"[^\"]*+\"|'[^']*+'",
    re.IGNORECASE,
)
_CSS_URL = re.compile(
    r"/\*.*?\*/|url\(\s*(?:\"(?P<a>[^\"]*)\"|'(?P<b>[^']*)'|(?P<c>[^)\s]*))\s*\)"
    r"|@import\s+(?:\"(?P<d>[^\"]*)\"|'(?P<e>[^']*)')",
    re.DOTALL | re.IGNORECASE,
)
_RELATIVE = re.compile(r"\.{1,2}/")
_OUTSIDE = re.compile(r"(?:https?:)?//", re.IGNORECASE)
#: Elements whose address is followed by a person, not loaded with the page.
_FOLLOWED = frozenset({"a", "area"})
#: Schemes that ask nothing of a network.
_QUIET_SCHEMES = frozenset({"data", "mailto", "tel", "blob", "about"})

Fault = Literal["missing", "no such place", "loads from elsewhere", "absolute", "base"]


@dataclass(frozen=True, slots=True, order=True)
class DeadLink:
    """A link that must not be published: where it stands, where it points, what is wrong."""

    page: str
    target: str
    fault: Fault

    def __str__(self) -> str:
        words = {
            "missing": "no such file",
            "no such place": "the page has no such place",
            "loads from elsewhere": "a page may load nothing from elsewhere",
            "absolute": "it begins at the host's top, which fails when opened as a file",
            "base": "a base address turns every link of the page",
        }
        return f"{self.page}: {self.target}: {words[self.fault]}"


#: Where a link points, and whether the page loads it rather than a person following it.
_Link = tuple[str, bool]
#: Tags met before, most of which a site repeats thousands of times.
_Seen = dict[tuple[str, str], tuple[tuple[_Link, ...], tuple[str, ...]]]


@dataclass(frozen=True, slots=True)
class _Scan:
    links: frozenset[_Link]
    places: frozenset[str]
    has_base: bool


def check_links(site: Path) -> list[DeadLink]:
    """Return every dead or forbidden link of a built site, sorted by page.

    Checked are href, src, srcset, poster, action, data and data-… paths (those that begin with
    ``./`` or ``../`` or an address), url() and @import in style sheets, and the place after ``#``.
    """
    built = _Site(site)
    dead: set[DeadLink] = set()
    for name, scan in built.scans.items():
        # The not-found page stands at the top, where its base puts it on a host.
        if scan.has_base and name != "404.html":
            dead.add(DeadLink(name, "<base>", "base"))
        for target, loads in scan.links:
            if fault := built.fault(name, target, loads):
                dead.add(DeadLink(name, target, fault))
    return sorted(dead)


class _Site:
    """The files of a site, its pages and style sheets scanned."""

    def __init__(self, folder: Path) -> None:
        files = {p.relative_to(folder).as_posix(): p for p in folder.rglob("*") if p.is_file()}
        self._names = frozenset(files)
        self.scans = {}
        seen: _Seen = {}
        for name, path in files.items():
            if name.endswith(".html"):
                self.scans[name] = _scan(path.read_text(encoding="utf-8"), seen)
            elif name.endswith((".css", ".svg")):
                links = _css_links(path.read_text(encoding="utf-8"))
                self.scans[name] = _Scan(frozenset(links), frozenset(), False)
        # A site has many times more links than places that they lead to.
        self._led: dict[tuple[str, str, bool], tuple[Fault | None, str]] = {}

    def fault(self, page: str, link: str, loads: bool) -> Fault | None:
        """Return what is wrong with a link of a page, or None."""
        address, _, place = link.partition("#")
        if not address and link:
            fault, target = None, page
        else:
            key = (page.rpartition("/")[0], address, loads)
            if key not in self._led:
                self._led[key] = self._follow(*key)
            fault, target = self._led[key]
        if fault or not place or not target.endswith(".html"):
            return fault
        # A lookup page keeps its query after the #; a query is no place.
        place = unquote(place)
        known = place == "top" or "=" in place or place in self.scans[target].places
        return None if known else "no such place"

    def _follow(self, folder: str, address: str, loads: bool) -> tuple[Fault | None, str]:
        """Return what is wrong with an address, and the file that it leads to ("" if outside)."""
        if not address:
            return "missing", ""  # an empty address would load the page into itself
        if _OUTSIDE.match(address):
            return ("loads from elsewhere" if loads else None), ""
        parts = urlsplit(address)
        if parts.scheme:
            return (None if parts.scheme.lower() in _QUIET_SCHEMES else "missing"), ""
        if parts.path.startswith("/"):
            return "absolute", ""
        target = posixpath.normpath(posixpath.join(folder, unquote(parts.path)))
        # A folder is no page when the site is opened as a file, even where a host would find one.
        return (None, target) if target in self._names else ("missing", "")


def _scan(text: str, seen: _Seen) -> _Scan:
    links: set[_Link] = set()
    places: set[str] = set()
    has_base = False
    for script, style, tag, inside in _TOKEN.findall(text):
        if style:
            links.update(_css_links(style))
            continue
        if script:
            tag, inside = "script", script
        if "=" not in inside:
            continue
        found = seen.get((tag, inside))
        if found is None:
            found = seen[tag, inside] = _tag(tag.lower(), inside)
        links.update(found[0])
        places.update(found[1])
        has_base = has_base or tag.lower() == "base"
    return _Scan(frozenset(links), frozenset(places), has_base)


def _tag(tag: str, inside: str) -> tuple[tuple[_Link, ...], tuple[str, ...]]:
    """Return the links and the places of one tag."""
    links: list[_Link] = []
    places: list[str] = []
    if tag == "base":
        return (), ()
    for name, double, single, bare in _ATTRIBUTE.findall(inside):
        name = name.lower()
        value = html.unescape(double or single or bare)
        if name == "id" or (name == "name" and tag == "a"):
            places.append(value)
        elif name not in ("", "name"):
            links += _links_of(tag, name, value, inside)
    return tuple(links), tuple(places)


def _links_of(tag: str, name: str, value: str, inside: str) -> list[_Link]:
    value = value.strip()
    if name == "style":
        return _css_links(value) if "url(" in value else []
    if name == "srcset":
        return [(part.split()[0], True) for part in value.split(",") if part.strip()]
    if name == "data" and tag != "object":
        return []
    if name.startswith("data-") and not (_RELATIVE.match(value) or _OUTSIDE.match(value)):
        return []
    if not value:
        return [] if name == "href" and tag in _FOLLOWED else [("", True)]
    loads = tag not in _FOLLOWED
    if tag == "link" and re.search(r"rel\s*=\s*[\"']?(?:canonical|license)\b", inside):
        loads = False
    return [(value, loads)]


def _css_links(text: str) -> list[_Link]:
    links = []
    for match in _CSS_URL.finditer(text):
        value = match["a"] or match["b"] or match["c"] or match["d"] or match["e"]
        if value and not value.startswith("#"):
            links.append((value, True))
    return links
