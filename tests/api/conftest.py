"""Each module of tests has a service of its own, with two owners."""

import pytest
from api_service import make_service


@pytest.fixture(scope="module")
def service(tmp_path_factory):
    made = make_service(tmp_path_factory.mktemp("service"))
    with made.client:
        yield made
