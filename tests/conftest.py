"""What tests of several rooms share: the demo's site, built once, and the machine.

Tests run in several processes. One marked ``alone`` takes wall time: it waits until no other test
runs, and no other begins before it is done.
"""

from __future__ import annotations

import os
import pickle
import tempfile
from collections.abc import Generator
from pathlib import Path
from typing import Any

import pytest
from filelock import FileLock, ReadWriteLock
from hypothesis import HealthCheck, settings

from coilbook.publish import BuildReport, build_site
from coilbook.resources import dataset_dir

_LOCK = "alone_lock"

# A drawn case is timed by nobody: the first may load a library, and another process may have the
# processor.
settings.register_profile("coilbook", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("coilbook")


@pytest.hookimpl(optionalhook=True)
def pytest_configure_node(node: Any) -> None:
    """Name to each process that runs tests the file by which they keep out of one another's way."""
    if not hasattr(node.config, _LOCK):
        node.config.alone_folder = tempfile.TemporaryDirectory(prefix="coilbook-tests-")
        setattr(node.config, _LOCK, str(Path(node.config.alone_folder.name) / "alone"))
    node.workerinput[_LOCK] = getattr(node.config, _LOCK)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Generator[None, Any, Any]:
    """Run a test marked ``alone`` while no other process runs one, and any other beside others."""
    path = getattr(item.config, "workerinput", {}).get(_LOCK)
    if path is None:
        return (yield)
    lock = ReadWriteLock(path)
    with lock.write_lock() if item.get_closest_marker("alone") else lock.read_lock():
        return (yield)


@pytest.fixture(scope="session")
def demo_site(tmp_path_factory: pytest.TempPathFactory) -> BuildReport:
    """Build the demo's site once for every test that reads or opens it; none may change it.

    Tests run in several processes: the first that asks builds it, and the others wait for it.
    """
    own = tmp_path_factory.getbasetemp()
    # Each process has a folder of its own within that of the run.
    top = (own.parent if "PYTEST_XDIST_WORKER" in os.environ else own) / "demo"
    return _built_once(top)


def _built_once(top: Path) -> BuildReport:
    told = top / "report.pickle"
    top.mkdir(exist_ok=True)
    with FileLock(top / "lock"):
        if not told.is_file():
            report = build_site(dataset_dir() / "demo", top / "site")
            told.write_bytes(pickle.dumps(report))
        report = pickle.loads(told.read_bytes())
        assert isinstance(report, BuildReport)
        return report
