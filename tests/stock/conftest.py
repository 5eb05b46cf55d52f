"""What the tests of the stock share."""

import pytest

from tests import build


@pytest.fixture
def shelf():
    return build.place("walk-in")
