"""The site as it is served while somebody types: pages that reload, and show what is wrong.

A script is put into each page on its way to the browser; the files of the site stay as they were
built. It listens at one address for what has happened since.
"""

from __future__ import annotations

import html
import json
import threading
from functools import partial
from http import HTTPStatus
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from coilbook.errors import CoilbookError

ADDRESS = "127.0.0.1"
EVENTS = "/-/live"
#: A browser that has gone is noticed when something is written to it.
HEARTBEAT_SECONDS = 15.0
SCRIPT = (Path(__file__).parent / "live.js").read_text(encoding="utf-8")


class LiveSite:
    """What the pages are told: which build it is, and what keeps the next one from being made."""

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._builds = 0
        self._problems = ""

    def built(self) -> None:
        """Say that the site was built: every page reloads."""
        self._set(self._builds + 1, "")

    def stays(self, problems: str) -> None:
        """Say why the site stays as it was."""
        self._set(self._builds, problems)

    def _set(self, builds: int, problems: str) -> None:
        with self._changed:
            self._builds, self._problems = builds, problems
            self._changed.notify_all()

    @property
    def version(self) -> str:
        """The build that a page is of."""
        return str(self._builds)

    def state(self) -> str:
        """Return what there is to tell, as one line of JSON."""
        return json.dumps({"version": self.version, "problems": self._problems})

    def wait(self, known: str, seconds: float) -> str:
        """Return the state once it is another than the one that is known, or after a time."""
        with self._changed:
            self._changed.wait_for(lambda: self.state() != known, timeout=seconds)
            return self.state()


class _Handler(SimpleHTTPRequestHandler):
    """Files of the site, never kept by the browser, and the stream of what happens to it."""

    def __init__(self, *args: object, live: LiveSite, directory: str) -> None:
        self._live = live
        super().__init__(*args, directory=directory)  # type: ignore[arg-type]

    def end_headers(self) -> None:
        self.send_header("Cache-Control", "no-store")
        super().end_headers()

    def log_message(self, format: str, *args: object) -> None:
        """Say nothing for each file."""

    def do_GET(self) -> None:
        """Send a file, a page with the script in it, or the stream."""
        if self.path.split("?")[0] == EVENTS:
            self._stream()
            return
        path = Path(self.translate_path(self.path))
        if path.is_dir() and self.path.split("?")[0].endswith("/"):
            path /= "index.html"
        if path.suffix != ".html" or not path.is_file():
            super().do_GET()
            return
        page = with_script(path.read_text(encoding="utf-8"), self._live.version).encode("utf-8")
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.send_header("Content-Length", str(len(page)))
        self.end_headers()
        self.wfile.write(page)

    def _stream(self) -> None:
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/event-stream")
        self.end_headers()
        told = ""
        try:
            while True:
                now = self._live.wait(told, HEARTBEAT_SECONDS)
                self.wfile.write(f"data: {now}\n\n".encode() if now != told else b":\n\n")
                self.wfile.flush()
                told = now
        except OSError:
            return  # the browser has gone


def with_script(page: str, version: str) -> str:
    """Return a page with the script at its end."""
    script = f'<script data-version="{html.escape(version)}">{SCRIPT}</script>'
    before, end, after = page.rpartition("</body>")
    return f"{before}{script}{end}{after}" if end else page + script


def start_server(site: Path, port: int, live: LiveSite | None = None) -> ThreadingHTTPServer:
    """Serve ``site`` on 127.0.0.1 in a thread of its own; port 0 takes any free one.

    Raises :class:`CoilbookError` when the port cannot be had.
    """
    handler = partial(_Handler, live=live or LiveSite(), directory=str(site))
    try:
        server = ThreadingHTTPServer((ADDRESS, port), handler)
    except OSError as error:
        raise CoilbookError(
            f"Port {port} cannot be used ({error.strerror}). Name another, as in --port {port + 1}."
        ) from error
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server
