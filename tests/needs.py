"""What a test needs from the machine: skipped where it is lacking, but never in `.ci/run`, which must run them all."""

from __future__ import annotations

import os
from typing import NoReturn

import pytest

MUST_RUN = os.environ.get("UNDERBOUGH_RUN_ALL") == "1"


def lacking(what: str) -> NoReturn:
    """Skip the test for want of something on this machine; fail it where every test must run."""
    if MUST_RUN:
        pytest.fail(f"{what} is lacking, and here every test must run")
    pytest.skip(f"{what} is lacking on this machine")
