"""``coilbook serve`` as it is used: a browser open, a spreadsheet saving."""

from __future__ import annotations

import json
import queue
import signal
import socket
import subprocess
import sys
import threading
import urllib.request
from functools import partial
from pathlib import Path
from typing import IO

import pytest

from coilbook.commands.serve import snapshot, watch
from coilbook.errors import CoilbookError
from coilbook.publish.live import LiveSite, start_server

PATIENCE_S = 600


def free_port() -> int:
    """Return a port that nothing uses just now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="ends the program by an interrupt signal")
def test_serve_follows_the_records_and_survives_errors(bench: Path) -> None:
    """The served page follows a saved change; an error keeps it as it was; mending goes on."""
    port = free_port()
    address = f"http://127.0.0.1:{port}/pieces/bench-0001/index.html"
    program = subprocess.Popen(
        [sys.executable, "-u", "-m", "coilbook.cli", "serve", str(bench), "--port", str(port)],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        # Whoever runs the tests in the background may have them ignore interrupts.
        preexec_fn=partial(signal.signal, signal.SIGINT, signal.SIG_DFL),
    )
    lines: queue.Queue[str] = queue.Queue()

    def listen() -> None:
        assert program.stdout is not None
        for line in program.stdout:
            lines.put(line)

    listener = threading.Thread(target=listen)
    listener.start()

    def wait_for(words: str) -> None:
        # A hang alone is to end this: a build takes seconds, and a busy machine has patience.
        for _ in range(PATIENCE_S):
            try:
                if words in lines.get(timeout=1):
                    return
            except queue.Empty:
                assert program.poll() is None, "serve has ended"
        raise AssertionError(f"serve never said: {words}")

    def page() -> str:
        with urllib.request.urlopen(address, timeout=PATIENCE_S) as answer:
            assert answer.headers["Cache-Control"] == "no-store"
            return str(answer.read().decode())

    def save(old: str, new: str) -> None:
        table = bench / "readings.csv"
        table.write_text(table.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")

    try:
        wait_for("Open http://127.0.0.1")
        assert "7.88k" in page()
        save("7.88k", "7.89q")
        wait_for("readings.csv:4 value: ")
        wait_for("stays as it is")
        assert "7.88k" in page()
        save("7.89q", "7.90k")
        wait_for("The site:")
        assert "7.90k" in page()
    finally:
        program.send_signal(signal.SIGINT)
        program.wait(timeout=PATIENCE_S)
        listener.join(timeout=PATIENCE_S)
        assert program.stdout is not None
        program.stdout.close()
    assert program.returncode == 0


def test_snapshot_leaves_the_site_out(bench: Path) -> None:
    """A build changes nothing that is watched; a record, a photo and a new file do."""
    site = bench / "site"
    before = snapshot(bench, site)
    assert bench / "pieces.csv" in before
    site.mkdir()
    (site / "index.html").write_text("x")
    (bench / ".site-1-site").mkdir()
    assert snapshot(bench, site) == before
    (bench / "photos").mkdir()
    (bench / "photos" / "a.jpg").write_text("x")
    assert snapshot(bench, site) != before


def test_watch_waits_until_files_rest(bench: Path) -> None:
    """A file that changes between two looks is not built from; once it rests it is, once."""
    built: list[str] = []
    looks = iter(range(8))

    def until() -> bool:
        look = next(looks)
        if look in (1, 2):
            (bench / "remark.txt").write_text("x" * (look + 1))
        return look == 7

    watch(bench, bench / "site", lambda: built.append("once"), until=until, poll_seconds=0.01)
    assert built == ["once"]


def test_server_is_for_this_computer_alone(tmp_path: Path) -> None:
    """The server listens on 127.0.0.1 and on nothing else; a taken port is told with a way on."""
    server = start_server(tmp_path, 0)
    try:
        host, port = server.server_address[:2]
        assert host == "127.0.0.1"
        with pytest.raises(CoilbookError, match=f"Port {port} cannot be used.*--port {port + 1}"):
            start_server(tmp_path, int(port))
    finally:
        server.shutdown()
        server.server_close()


def test_served_pages_listen_and_the_site_stays_as_it_was_built(tmp_path: Path) -> None:
    """A page gets the script on its way out, the stream tells of each build and of each error."""
    page = tmp_path / "index.html"
    page.write_text("<!doctype html><body><p>4.02k</p></body>", encoding="utf-8")
    (tmp_path / "own.js").write_text("</body>", encoding="utf-8")
    live = LiveSite()
    server = start_server(tmp_path, 0, live)
    address = f"http://127.0.0.1:{server.server_address[1]}"

    def told(stream: IO[bytes]) -> dict[str, str]:
        while not (line := stream.readline().decode()).startswith("data: "):
            assert line, "the stream has ended"
        return json.loads(line.removeprefix("data: "))  # type: ignore[no-any-return]

    try:
        live.built()
        with urllib.request.urlopen(f"{address}/", timeout=PATIENCE_S) as answer:
            shown = answer.read().decode()
        assert 'data-version="1"' in shown
        assert shown.endswith("</script></body>")
        with urllib.request.urlopen(f"{address}/own.js", timeout=PATIENCE_S) as answer:
            assert answer.read() == b"</body>"
        with urllib.request.urlopen(f"{address}/-/live", timeout=PATIENCE_S) as stream:
            assert told(stream) == {"version": "1", "problems": ""}
            live.stays("pieces.csv:2 state: the cell is empty.")
            assert told(stream)["problems"] == "pieces.csv:2 state: the cell is empty."
            live.built()
            assert told(stream) == {"version": "2", "problems": ""}
    finally:
        server.shutdown()
        server.server_close()
    assert page.read_text(encoding="utf-8").endswith("<p>4.02k</p></body>")
