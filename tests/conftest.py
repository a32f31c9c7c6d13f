"""What tests of several rooms share: the demo's site, built once for all their processes."""

from __future__ import annotations

import os
import pickle
from pathlib import Path

import pytest
from filelock import FileLock
from hypothesis import HealthCheck, settings

from coilbook.publish import BuildReport, build_site
from coilbook.resources import dataset_dir

# A drawn case is timed by nobody: the first may load a library, and another process may have the
# processor. The cases are the same in every run, so that a run that fails does so everywhere; the
# long search for others is done by hand, with --hypothesis-profile=long.
QUIET = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow]}
settings.register_profile("coilbook", max_examples=25, derandomize=True, **QUIET)
settings.register_profile("long", max_examples=2000, **QUIET)
settings.load_profile("coilbook")


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
