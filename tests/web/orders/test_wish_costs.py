"""What wishes cost, and what they leave short."""

import pytest

from planning.engine.ordering.instance.wishes import KeptWishes
from stock.models import Item
from tests import build
from tests.web.orders.wishing import FRIDAY, TUESDAY, fixed, look, page

pytestmark = pytest.mark.django_db


def test_the_result_says_what_the_wishes_cost(site, dairy):
    look()
    look(
        KeptWishes(preferred_deliveries=((dairy.pk, FRIDAY),)),
    )

    shown = page(site)

    # On two trucks, $43, instead of on one, $28.
    cost = "With these wishes it is $15.00 more than the best found without them."
    assert f"wish: Rather from Dairy on Friday {cost}" in shown
    assert "Goods and delivery $43.00 $28.00 $43.00" in shown


def test_what_wishes_cost_is_less_what_they_leave_over(site, dairy):
    look()
    look(fixed("brick", TUESDAY, 2))

    shown = page(site)

    # One brick more, $10. All of it will be used within four weeks after the plan,
    # and what is left over counts nine tenths: $9.
    assert (
        "With these wishes it is $1.00 more than the best found without them: $10.00 "
        "more is paid, and the worth of what is left over at the end and will be used "
        "is $9.00 more." in shown
    )
    assert "Goods and delivery $38.00 $28.00 $43.00" in shown
    assert "and will be used $9.00 $0.00 $0.00" in shown
    assert "What counts: the first less the second $29.00 $28.00 $43.00" in shown


def test_what_is_bought_to_go_out_of_date_stands_beside_the_price(site, dairy):
    Item.objects.filter(name="butter").update(keeps_days=3)
    look()
    look(fixed("brick", TUESDAY, 2))

    shown = page(site)

    # Wednesday's cake takes one of the two; nothing takes the other.
    assert "will expire, at what is paid" in shown
    assert "Of what they buy, $10.00 will expire, at what is paid; of" in shown
    assert "Expired, at what is paid $10.00 $0.00 $0.00" in shown
    assert "With these wishes it is $10.00 more than the best found without" in shown


def test_wishes_that_cost_nothing_say_so(site, dairy):
    look()
    look(fixed("brick", TUESDAY, 1))

    assert "These wishes cost nothing against the best found without them." in page(
        site
    )


def test_what_wishes_cost_is_unknown_where_nothing_was_found_without(site, dairy):
    look(fixed("brick", TUESDAY, 1))

    shown = page(site)

    assert "What these wishes cost is not known" in shown
    assert "Goods and delivery $28.00 $43.00" in shown


def test_what_wishes_leave_short_stands_beside_their_price(site, dairy):
    look()
    look(KeptWishes(forbidden_deliveries=((dairy.pk, TUESDAY),)))

    shown = page(site)

    # The brick comes on Friday, too late for Wednesday.
    assert (
        "These wishes cost nothing against the best found without them, but they "
        "leave short what stands below." in shown
    )
    assert "Butter: out on Wed May 6, 500 g short, because of your wishes." in shown


def test_a_line_that_could_not_be_kept_says_so(site, dairy):
    far = build.supplier("Far Dairy", minimum_order=100)
    build.pack(build.item("salt"), far, size_base=500, price="10", label="box")
    look(fixed("box", TUESDAY, 2))

    shown = page(site)

    assert "from Far Dairy tomorrow, which these orders could not keep" in shown
    assert "the order there stays below its minimum of $100.00." in shown


def test_wishes_take_one_query_more_for_the_best_without_them(
    site, dairy, django_assert_num_queries
):
    look()
    look(fixed("brick", TUESDAY, 3))
    page(site)

    # session, user, bakery; the search; the plan's 5; what waits; the one without
    with django_assert_num_queries(11):
        page(site)
