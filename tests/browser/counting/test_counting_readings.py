"""On the sheet: what has two readings is asked about, and the one tapped is kept."""

import pytest
from playwright.sync_api import expect

from stock.models import CountEntry
from tests import build
from tests.browser.counting.phones import enter, field, open_sheet, sent

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def milk(shelf):
    """Milk by the gallon, with what a cup of it weighs."""
    return build.item(
        "milk",
        measure="volume",
        equivalents="1 cup = 244 g",
        own_units="jug = 1 gallon",
        place=shelf,
    )


@pytest.fixture
def cherries(shelf):
    """Cherries in cans that are known by their size."""
    return build.item("cherries", own_units="can = 6 lb 10 oz", place=shelf)


def test_an_ounce_of_milk_is_asked_about_and_the_tapped_reading_is_kept(
    phone, ada, milk, count, shelf
):
    tab = phone(ada)
    open_sheet(tab, count, shelf)

    enter(tab, "milk", "8 oz")
    buttons = tab.locator(".count-ask button")
    expect(buttons).to_have_text(["8 fl oz", "8 oz weight"])
    assert not CountEntry.objects.exists()
    buttons.first.tap()

    expect(field(tab, "milk")).to_have_value("8 fl oz")
    sent(tab)
    # A gallon has 128 fl oz, and 3785.411784 mL: NIST Handbook 44, Appendix C.
    assert float(CountEntry.objects.get().amount_base) == pytest.approx(
        3785.411784 / 16, abs=1e-4
    )


def test_a_number_10_can_is_a_can(phone, ada, cherries, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)

    enter(tab, "cherries", "1 #10 can")

    sent(tab)
    assert float(CountEntry.objects.get().amount_base) == pytest.approx(
        106 * 453.59237 / 16, abs=1e-4
    )
