"""Watch an archive, and build its site again when a record changes."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

POLL_SECONDS = 0.5

Snapshot = dict[Path, tuple[int, int]]


def snapshot(archive: Path, site: Path) -> Snapshot:
    """Return time and size of every file of the archive, the built site and hidden files aside."""
    found: Snapshot = {}
    pending = [archive]
    site = site.resolve()
    while pending:
        for path in pending.pop().iterdir():
            if path.name.startswith((".", "~")) or path.resolve() == site:
                continue
            if path.is_dir():
                pending.append(path)
                continue
            try:
                status = path.stat()
            except OSError:  # it went away between the listing and the look
                continue
            found[path] = (status.st_mtime_ns, status.st_size)
    return found


def watch(
    archive: Path,
    site: Path,
    rebuild: Callable[[], None],
    *,
    seen: Snapshot | None = None,
    until: Callable[[], bool] = lambda: False,
    poll_seconds: float = POLL_SECONDS,
) -> None:
    """Call ``rebuild`` after each change to the archive, once its files have come to rest.

    ``seen`` is the state that the site was built from. A program that saves in several steps
    changes a file more than once: two looks must agree before anything is built. Returns when
    ``until`` says so.
    """
    built_from = snapshot(archive, site) if seen is None else seen
    last = built_from
    while not until():
        time.sleep(poll_seconds)
        now = snapshot(archive, site)
        if now != built_from and now == last:
            built_from = now
            rebuild()
        last = now
