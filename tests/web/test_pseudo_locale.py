"""Every word that people read on a page is marked for translation."""

import pytest

from stock.site import pseudo_locale
from tests.unmarked import data_pattern, unmarked
from tests.web.test_every_form import (  # noqa: F401 (fixtures)
    busy_kitchen,
    every_page,
    visitor,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture(autouse=True)
def _spoken():
    with pseudo_locale.spoken():
        yield


def test_every_word_of_every_page_is_marked(visitor, busy_kitchen, figure):  # noqa: F811
    data = data_pattern()

    found = [
        (address, piece)
        for address, markup in every_page(visitor)
        for piece in sorted(unmarked(markup, data))
    ]

    figure(f"{len({piece for _, piece in found})} unmarked pieces")
    assert not found, "\n".join(f"{address}: {piece}" for address, piece in found)
