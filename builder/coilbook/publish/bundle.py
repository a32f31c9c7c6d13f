"""A built site as one zip for a stick or a tablet, with how to open it and a list of checksums."""

from __future__ import annotations

import datetime as dt
import hashlib
import html
import json
import os
import zipfile
from dataclasses import dataclass
from pathlib import Path

from coilbook.errors import CoilbookError
from coilbook.publish.swap import LITTER, MARKER

FOLDER = "pickup-reference"
CHECKSUMS = "SHA256SUMS"
#: The first day that a zip can tell, for want of SOURCE_DATE_EPOCH; alike in every bundle.
_FIRST_DAY = dt.datetime(1980, 1, 1, tzinfo=dt.UTC)
_LAST_DAY = dt.datetime(2107, 12, 31, tzinfo=dt.UTC)

_STEPS = (
    "Unpack the whole zip first. Do not open pages from inside the zip: they would not find each "
    "other.",
    "Open the folder 'site' and in it the file 'index.html', with any web browser. No network is "
    "needed, and nothing is fetched from anywhere.",
    "On a tablet, copy the unpacked folder to its storage and open 'site/index.html' from its file "
    "manager. Some tablets show a single page and follow no link: use a stick at a computer there, "
    "or put the folder 'site' on a web host of your own.",
    "What you type into a page stays on the device, if the browser keeps anything at all for pages "
    "opened from a folder. Save your drafts as files.",
)
_CHECK = (
    "Is it whole? In the folder that holds SHA256SUMS run 'sha256sum -c SHA256SUMS' (on a Mac "
    "'shasum -a 256 -c SHA256SUMS'). Every line must end with OK.",
    "To look at it through an address instead of a file, run in that folder "
    "'python3 -m http.server 8000 --bind 127.0.0.1 --directory site' and open "
    "http://127.0.0.1:8000/. With --bind 127.0.0.1 only this computer can see it; leave that out "
    "and everybody in the same network can.",
)


@dataclass(frozen=True, slots=True)
class Bundled:
    """The zip that was made: where, how many files, and its size in bytes."""

    path: Path
    files: int
    size_bytes: int


def make_bundle(site: Path, out: Path) -> Bundled:
    """Zip the built site at ``site`` into the new file ``out``.

    Two bundles of the same site are alike to the byte: files are in order of their names, and all
    have one date, that of SOURCE_DATE_EPOCH if it is set.

    Raises: CoilbookError if there is no built site, if ``out`` exists or lies inside the site, or
    if SOURCE_DATE_EPOCH is no number.
    """
    facts = _facts(site)
    if out.exists():
        raise CoilbookError(
            f"'{out}' is there already. Move it away, or name another file with --out."
        )
    if out.resolve().is_relative_to(site.resolve()):
        raise CoilbookError(f"'{out}' lies inside the site itself. Choose another place for it.")
    date = _date()
    title = str(facts.get("title", "A reference of pickups"))
    contents = {
        "HOW-TO-OPEN.html": _page(title).encode(),
        "HOW-TO-OPEN.txt": _text(title).encode(),
    }
    for path in site.rglob("*"):
        if path.is_file() and path.name not in LITTER:
            contents[f"site/{path.relative_to(site).as_posix()}"] = path.read_bytes()
    sums = [f"{hashlib.sha256(data).hexdigest()}  {name}" for name, data in _sorted(contents)]
    contents[CHECKSUMS] = ("\n".join(sums) + "\n").encode()
    out.parent.mkdir(parents=True, exist_ok=True)
    fresh = out.with_name(f".{out.name}.{os.getpid()}")
    try:
        with zipfile.ZipFile(fresh, "w") as bundle:
            for name, data in _sorted(contents):
                entry = zipfile.ZipInfo(f"{FOLDER}/{name}", date)
                entry.compress_type = zipfile.ZIP_DEFLATED
                entry.create_system = 3  # alike on every system, which would name itself here
                entry.external_attr = 0o100644 << 16
                bundle.writestr(entry, data, compresslevel=9)
        fresh.rename(out)
    finally:
        fresh.unlink(missing_ok=True)
    return Bundled(out, len(contents), out.stat().st_size)


def _sorted(contents: dict[str, bytes]) -> list[tuple[str, bytes]]:
    return sorted(contents.items())


def _facts(site: Path) -> dict[str, object]:
    """Return what the site says of itself, if it is one that was built."""
    try:
        facts = json.loads((site / MARKER).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        facts = None
    if not isinstance(facts, dict) or not (site / "index.html").is_file():
        raise CoilbookError(f"There is no built site at '{site}'. Run 'coilbook build' first.")
    return facts


def _date() -> tuple[int, int, int, int, int, int]:
    epoch = os.environ.get("SOURCE_DATE_EPOCH")
    moment = _FIRST_DAY
    if epoch:
        try:
            moment = dt.datetime.fromtimestamp(int(epoch), dt.UTC)
        except (ValueError, OverflowError, OSError):
            raise CoilbookError(
                f"SOURCE_DATE_EPOCH is '{epoch}'. Set it to whole seconds since 1970, or unset it."
            ) from None
    moment = min(max(moment, _FIRST_DAY), _LAST_DAY)
    return (moment.year, moment.month, moment.day, moment.hour, moment.minute, moment.second)


def _text(title: str) -> str:
    steps = [f"{number}. {step}" for number, step in enumerate(_STEPS, 1)]
    return "\n\n".join([title, "HOW TO OPEN IT", *steps, *_CHECK]) + "\n"


def _page(title: str) -> str:
    name = html.escape(title)
    steps = "".join(f"<li>{html.escape(step)}</li>\n" for step in _STEPS)
    more = "".join(f"<p>{html.escape(line)}</p>\n" for line in _CHECK)
    return f"""\
<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>How to open {name}</title>
<style>body {{ font: 1.1rem/1.5 sans-serif; max-width: 40rem; margin: 1rem auto; padding: 0 1rem }}
li {{ margin-bottom: .5rem }} .open {{ display: inline-block; padding: .75rem 0 }}</style>
</head>
<body>
<main>
<h1>{name}</h1>
<p><a class="open" href="site/index.html">Open the reference</a> (once the zip is unpacked)</p>
<h2>How to open it</h2>
<ol>
{steps}</ol>
<h2>More</h2>
{more}</main>
</body>
</html>
"""
