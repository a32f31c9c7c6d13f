"""Serve an archive's site on this computer alone, and build it again when a record changes."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from coilbook.errors import CoilbookError

ADDRESS = "127.0.0.1"
POLL_SECONDS = 0.5

Snapshot = dict[Path, tuple[int, int]]


class _Handler(SimpleHTTPRequestHandler):
    """Files of the site, never kept by the browser, so that a reload shows the new build."""

    def end_headers(self) -> None:
        self.send_header("Cache-Control", "no-store")
        super().end_headers()

    def log_message(self, format: str, *args: object) -> None:
        """Say nothing for each file."""


def start_server(site: Path, port: int) -> ThreadingHTTPServer:
    """Serve ``site`` on 127.0.0.1 in a thread of its own; port 0 takes any free one.

    Raises :class:`CoilbookError` when the port cannot be had.
    """
    try:
        server = ThreadingHTTPServer((ADDRESS, port), partial(_Handler, directory=str(site)))
    except OSError as error:
        raise CoilbookError(
            f"Port {port} cannot be used ({error.strerror}). Name another, as in --port {port + 1}."
        ) from error
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server


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
