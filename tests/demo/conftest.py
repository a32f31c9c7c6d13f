"""What the tests of the invented archive share."""

from __future__ import annotations

import demo_known
import pytest


@pytest.fixture(scope="session")
def demo() -> demo_known.Demo:
    """Return the committed archive, measured, with its truth."""
    return demo_known.load()
