"""A service that asks for tokens, for the tests of signing in."""

import pytest
from api_service import make_service


@pytest.fixture(scope="module")
def service(tmp_path_factory):
    made = make_service(tmp_path_factory.mktemp("pages"))
    with made.client:
        yield made
