"""What tests of several rooms share: the demo's site, built once."""

from __future__ import annotations

import pytest

from coilbook.publish import BuildReport, build_site
from coilbook.resources import dataset_dir


@pytest.fixture(scope="session")
def demo_site(tmp_path_factory: pytest.TempPathFactory) -> BuildReport:
    """Build the demo's site once for every test that reads or opens it."""
    return build_site(dataset_dir() / "demo", tmp_path_factory.mktemp("demo") / "site")
