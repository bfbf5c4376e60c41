"""What holds for every test: how long something takes is no test, on a machine that may be busy with other things; and a
journal that a test keeps is its own, in a temporary folder."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from advisor.api.settings import JOURNAL

settings.register_profile("patient", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("patient")


@pytest.fixture(autouse=True)
def _no_journal_is_left_where_tests_are_run() -> Iterator[None]:
    here = Path(JOURNAL).absolute()
    was = here.exists()
    yield
    assert was or not here.exists(), (
        f"this test keeps a journal in {here}: give it one of its own, and remove that file"
    )
