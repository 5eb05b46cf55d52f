"""A buyer's wishes on the pages: made, taken back, looked around and kept."""

from datetime import timedelta

import pytest
from django.urls import reverse

from planning.engine.ordering.instance.wishes import FixedLine, KeptWishes
from planning.models import OrderSearch
from planning.search.searching import SearchRequest, start_search
from stock.models import Pack
from tests import build
from tests.build import NOON
from tests.web.orders.pages import words
from tests.web.orders.wishing import (
    FRIDAY,
    SATURDAY,
    TIMES,
    TUESDAY,
    content,
    fixed,
    line,
    look,
    page,
    post,
    truck,
    typed,
)

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("name", ["orders", "order_search"])
def test_each_suggested_line_and_delivery_has_its_wish_beside_it(site, dairy, name):
    html = content(site, name)

    assert f'name="keep" value="{line("brick", TUESDAY)}=1"' in html
    assert f'name="{line("bag", FRIDAY)}"' in html
    assert f'name="{truck(dairy, TUESDAY)}"' in html
    assert html.count('id="wishes"') == 1
    assert f"Keep 1 {TIMES} brick as it is" in words(html)


def test_while_a_search_runs_there_is_nothing_to_wish(site, dairy):
    start_search(SearchRequest("quick"), at=NOON)

    assert 'form="wishes"' not in content(site, "orders")


def test_a_line_is_kept_as_it_is_and_noted_before_anything_starts(site, dairy):
    html = post(site, keep=f"{line('brick', TUESDAY)}=1", step="add")

    assert "Your wishes butter, brick, from Dairy tomorrow packs Remove" in words(html)
    assert typed(html, line("brick", TUESDAY)) == ["1"]
    assert "Look around these wishes" in html
    assert not OrderSearch.objects.exists()


def test_a_typed_number_wins_over_keeping_the_line_as_it_is(site, dairy):
    name = line("brick", TUESDAY)

    html = post(site, keep=f"{name}=1", step="add", **{name: "2"})

    assert typed(html, name) == ["2"]


def test_a_wish_is_taken_back_and_the_others_stay(site, dairy):
    brick, bag = line("brick", TUESDAY), line("bag", FRIDAY)
    wishes = {brick: "2", bag: "0", truck(dairy, FRIDAY): "prefer"}

    html = post(site, take_back=brick, **wishes)

    shown = words(html).partition("Your wishes")[2].partition("Leave out or")[0]
    assert "brick" not in shown
    assert typed(html, bag) == ["0"]
    assert '<option value="prefer" selected>' in html
    assert not OrderSearch.objects.exists()


def test_a_suppliers_wish_is_taken_back_like_any_other(site, dairy):
    far = build.supplier("Far Dairy")
    build.pack(build.item("salt"), far)

    kept = post(site, left_out=[far.pk], step="add")
    gone = post(site, left_out=[far.pk], take_back=f"left_out_{far.pk}")

    assert f'name="take_back" value="left_out_{far.pk}"' in kept
    assert "Nothing from Far Dairy" in kept
    assert "Nothing from Far Dairy" not in gone


def test_a_search_is_started_around_all_wishes(site, dairy):
    brick, bag = line("brick", TUESDAY), line("bag", FRIDAY)
    trucks = {truck(dairy, FRIDAY): "prefer", truck(dairy, SATURDAY): ""}

    post(site, **{brick: "2", bag: "0"}, **trucks)

    assert OrderSearch.objects.get().kept_wishes == KeptWishes(
        fixed_lines=(
            FixedLine(Pack.objects.get(label="brick").pk, TUESDAY, 2),
            FixedLine(Pack.objects.get(label="bag").pk, FRIDAY, 0),
        ),
        preferred_deliveries=((dairy.pk, FRIDAY),),
    )


def test_wishes_stay_for_the_next_search_and_stand_in_words(site, dairy):
    look(fixed("brick", TUESDAY, 3))

    html = content(site)

    assert f"Exactly 3 {TIMES} brick of butter from Dairy tomorrow" in words(html)
    assert typed(html, line("brick", TUESDAY)) == ["3"]
    assert "Your wish: exactly 3" in words(html)
    again = content(site, "orders")
    assert typed(again, line("brick", TUESDAY)) == ["3"]


def test_names_that_are_no_fields_are_passed_over(site, dairy):
    names = ("line_x_2026-05-05", "line_1_2026-13-45", "truck_1_2026-05-05x")

    post(site, **dict.fromkeys(names, "1"))

    assert not OrderSearch.objects.get().wishes


def test_drafted_orders_name_the_wishes_that_they_keep_to(site, dairy):
    search = look(fixed("brick", TUESDAY, 3))
    site.post(reverse("planning:draft_found_orders", args=[search.pk]))

    shown = page(site, "orders")

    wish = f"Exactly 3 {TIMES} brick of butter from Dairy tomorrow"
    assert f"They were looked for around these wishes: {wish}" in shown


def test_other_deliveries_can_be_preferred_too(site, dairy):
    next_friday = truck(dairy, FRIDAY + timedelta(days=7))

    html = content(site)

    assert html.count(f'name="{next_friday}"') == 1
    assert html.count(f'name="{truck(dairy, FRIDAY)}"') == 1


def test_a_line_that_nothing_suggests_is_fixed_too(site, dairy):
    far = build.supplier("Far Dairy")
    box = build.pack(build.item("salt"), far, label="box")
    more = {"more_pack": box.pk, "more_on": FRIDAY.isoformat(), "more_packs": "2"}

    noted = post(site, step="add", **more)
    post(site, **more)

    assert typed(noted, line("box", FRIDAY)) == ["2"]
    assert OrderSearch.objects.get().kept_wishes == fixed("box", FRIDAY, 2)
