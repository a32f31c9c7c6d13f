"""A page that 'coilbook serve' shows follows what is saved, and says what is wrong."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from coilbook.publish.live import LiveSite, start_server

pytestmark = pytest.mark.browser


def test_the_page_shows_errors_and_reloads_once_it_is_built(
    browser: Browser, tmp_path: Path
) -> None:
    """Errors stand on the page until they are mended; then it is read again, and shows the new."""
    page_file = tmp_path / "index.html"
    page_file.write_text("<!doctype html><title>x</title><body><p>4.02k</p></body>", "utf-8")
    live = LiveSite()
    live.built()
    server = start_server(tmp_path, 0, live)
    page = browser.new_page()
    try:
        page.goto(f"http://127.0.0.1:{server.server_address[1]}/")
        told = page.get_by_role("alert")
        expect(page.get_by_text("4.02k")).to_be_visible()
        live.stays("readings.csv:2 value: 'q' is not a unit of <resistance>.")
        expect(told).to_contain_text("'q' is not a unit of <resistance>.")
        page.get_by_role("button", name="Hide").click()
        expect(told).to_have_count(0)
        live.stays("readings.csv:3 value: still wrong.")
        expect(told).to_contain_text("still wrong")
        page_file.write_text("<!doctype html><title>x</title><body><p>4.03k</p></body>", "utf-8")
        live.built()
        expect(page.get_by_text("4.03k")).to_be_visible()
        expect(told).to_have_count(0)
    finally:
        page.close()
        server.shutdown()
        server.server_close()
