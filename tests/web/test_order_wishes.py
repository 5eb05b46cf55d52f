"""A buyer's wishes on the pages: made, checked, taken back, kept, and their price."""

import re
from datetime import timedelta
from html import unescape

import pytest
from django.urls import reverse
from django.utils import timezone

from planning.engine.ordering.question.kept_wishes import KeptWishes
from planning.engine.ordering.question.wishes import FixedLine
from planning.models import OrderSearch
from planning.search_worker import look_for_orders
from planning.searching import Asked, start_search
from stock.models import Item, Pack, Supplier
from tests import build
from tests.build import MONDAY, NOON

pytestmark = pytest.mark.django_db

TUESDAY, WEDNESDAY, FRIDAY, SATURDAY = (
    MONDAY + timedelta(days=days) for days in (1, 2, 4, 5)
)
TIMES = "\N{MULTIPLICATION SIGN}"


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    """The pages ask the clock; here it is Monday, noon."""
    clock = {"now": NOON}
    monkeypatch.setattr(timezone, "now", lambda: clock["now"])
    return clock


@pytest.fixture
def dairy():
    """A brick for Wednesday and a bag for Saturday; each truck costs $15.

    The usual rule lets the truck come on Tuesday and on Friday: $43. Both on Tuesday
    are $28. Bags are sold from 2 on, by the 2, if a test says so.
    """
    build.bakery(name="Crumb", currency="USD", time_zone="UTC")
    dairy = build.supplier("Dairy", delivery_fee=15)
    butter, sugar = build.item("butter"), build.item("sugar")
    build.pack(butter, dairy, size_base=500, price="10", label="brick")
    build.pack(sugar, dairy, size_base=100, price="3", label="bag")
    build.planned_cake(build.cake(lines=[(butter, 500)]), due_on=WEDNESDAY)
    build.planned_cake(build.cake(lines=[(sugar, 100)]), due_on=SATURDAY)
    return dairy


@pytest.fixture
def site(client):
    client.force_login(build.user("rosa", first_name="Rosa"))
    return client


def content(site, name="order_search", *args):
    response = site.get(reverse(f"planning:{name}", args=args))
    assert response.status_code == 200
    return response.content.decode()


def words(html):
    """What is read on a page: its words, without tags and doubled spaces."""
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", html)))


def page(site, name="order_search", *args):
    return words(content(site, name, *args))


def post(site, **data):
    data = {"effort": "quick"} | data
    response = site.post(reverse("planning:start_order_search"), data, follow=True)
    assert response.status_code == 200
    return response.content.decode()


def line(label, day):
    return f"line_{Pack.objects.get(label=label).pk}_{day.isoformat()}"


def truck(supplier, day):
    return f"truck_{supplier.pk}_{day.isoformat()}"


def typed(html, name):
    """What stands in the field of a wish."""
    fields = re.findall(rf'<input[^>]*name="{name}"[^>]*>', html)
    values = [re.search(r'value="([^"]*)"', field) for field in fields]
    return [value[1] for value in values if value]


def finish():
    search = OrderSearch.objects.first()
    look_for_orders(search.pk, now=timezone.now)
    return search


def look(wishes=None, **asked):
    start_search(Asked("quick", wishes or KeptWishes()), at=timezone.now(), **asked)
    return finish()


def fixed(label, day, packs):
    return KeptWishes(
        fixed_lines=(FixedLine(Pack.objects.get(label=label).pk, day, packs),)
    )


@pytest.mark.parametrize("name", ["orders", "order_search"])
def test_each_suggested_line_and_delivery_has_its_wish_beside_it(site, dairy, name):
    html = content(site, name)

    assert f'name="keep" value="{line("brick", TUESDAY)}=1"' in html
    assert f'name="{line("bag", FRIDAY)}"' in html
    assert f'name="{truck(dairy, TUESDAY)}"' in html
    assert html.count('id="wishes"') == 1
    assert f"Keep 1 {TIMES} brick as it is" in words(html)


def test_while_a_search_runs_there_is_nothing_to_wish(site, dairy):
    start_search(Asked("quick"), at=NOON)

    assert 'form="wishes"' not in content(site, "orders")


def test_a_line_is_kept_as_it_is_and_noted_before_anything_starts(site, dairy):
    html = post(site, keep=f"{line('brick', TUESDAY)}=1", step="add")

    assert "Your wishes butter, brick, from Dairy tomorrow packs Take back" in words(
        html
    )
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


@pytest.mark.parametrize(
    ("packs", "sentence"),
    [
        ("3", "It is sold by the 2: write 2 or 4."),
        ("1", "It is sold from 2 packs on: write 2 or more, or 0 for none."),
        ("two", "'two' is no number. Write a bare number like 3."),
        ("2.5", "2.5 is no whole number."),
        ("-1", "It must be 0 or more."),
        ("999999999", "It must be a whole number from 0 to 100000."),
    ],
)
def test_what_a_pack_does_not_allow_is_refused_beside_it(site, dairy, packs, sentence):
    Pack.objects.filter(label="bag").update(minimum_packs=2, multiple=2)
    name = line("bag", FRIDAY)

    html = post(site, **{name: packs, line("brick", TUESDAY): "1"})

    assert sentence in words(html)
    assert typed(html, name) == [packs]
    assert typed(html, line("brick", TUESDAY)) == ["1"]
    assert not OrderSearch.objects.exists()


@pytest.mark.parametrize("packs", ["0", "2", "4"])
def test_what_a_pack_allows_is_fixed(site, dairy, packs):
    Pack.objects.filter(label="bag").update(minimum_packs=2, multiple=2)

    post(site, **{line("bag", FRIDAY): packs})

    (wish,) = OrderSearch.objects.get().kept_wishes.fixed_lines
    assert wish.packs == int(packs)


@pytest.mark.parametrize(
    ("day", "sentence"),
    [
        (TUESDAY, "The cut-off was today 2:00 pm. Take the wish back."),
        (WEDNESDAY, "Dairy does not come on Wednesday. Take the wish back."),
        (MONDAY - timedelta(days=3), "That day is past."),
        (MONDAY + timedelta(days=29), "That day is beyond the plan."),
    ],
)
@pytest.mark.parametrize("name", ["line", "truck"])
def test_a_delivery_that_cannot_be_had_is_refused_beside_it(
    site, dairy, clock, name, day, sentence
):
    clock["now"] = NOON + timedelta(hours=3)
    name, wish = (
        (line("brick", day), "1") if name == "line" else (truck(dairy, day), "prefer")
    )

    html = post(site, **{name: wish, line("bag", FRIDAY): "1"})

    assert sentence in words(html)
    assert f'value="{name}"' in html  # to be taken back
    assert typed(html, line("bag", FRIDAY)) == ["1"]
    assert not OrderSearch.objects.exists()


def test_a_wish_whose_cut_off_has_passed_meanwhile_is_left_out_and_said(
    site, dairy, clock
):
    look(fixed("brick", TUESDAY, 1))
    clock["now"] = NOON + timedelta(hours=3)

    html = content(site)

    assert (
        "butter, brick, from Dairy tomorrow : left out of the next search. The cut-off "
        "was today 2:00 pm." in words(html)
    )
    assert typed(html, line("brick", TUESDAY)) == []


RETIRED = {"retired": True}


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (lambda pack: pack.update(**RETIRED), "This pack is not sold any more"),
        (lambda pack: pack.delete(), "This pack is not sold any more"),
        (
            lambda _: Item.objects.filter(name="butter").update(**RETIRED),
            "butter is retired: take the wish back.",
        ),
        (
            lambda _: Supplier.objects.filter(name="Dairy").update(**RETIRED),
            "This pack is not sold any more",
        ),
    ],
)
def test_what_was_retired_meanwhile_is_said_and_nothing_else_is_lost(
    site, dairy, change, sentence
):
    box = build.pack(build.item("salt"), build.supplier("Far Dairy"), label="box")
    brick, other = line("brick", TUESDAY), line("box", FRIDAY)
    change(Pack.objects.filter(label="brick"))

    html = post(site, **{brick: "1", other: "2"})

    assert sentence in words(html)
    assert f'value="{brick}"' in html  # to be taken back
    assert typed(html, other) == ["2"]
    assert box.label in html
    assert not OrderSearch.objects.exists()


@pytest.mark.parametrize("by", ["supplier", "delivery"])
def test_packs_on_a_delivery_that_is_left_out_contradict_it(site, dairy, by):
    far = build.supplier("Far Dairy")
    build.pack(build.item("salt"), far, label="box")
    left_out = {
        "supplier": {"left_out": [dairy.pk]},
        "delivery": {truck(dairy, TUESDAY): "forbid"},
    }

    html = post(site, **{line("brick", TUESDAY): "1"}, **left_out[by])
    post(site, **{line("brick", TUESDAY): "0"}, **left_out[by])

    assert (
        "Nothing is to come from Dairy tomorrow: take one of the two wishes back."
        in words(html)
    )
    assert OrderSearch.objects.count() == 1  # none of it is no contradiction


def test_a_preferred_delivery_of_a_supplier_who_is_left_out_contradicts_it(site, dairy):
    build.pack(build.item("salt"), build.supplier("Far Dairy"), label="box")

    html = post(site, left_out=[dairy.pk], **{truck(dairy, FRIDAY): "prefer"})

    assert "Nothing is ordered from Dairy." in words(html)


def test_names_that_are_no_fields_are_passed_over(site, dairy):
    names = ("line_x_2026-05-05", "line_1_2026-13-45", "truck_1_2026-05-05x")

    post(site, **dict.fromkeys(names, "1"))

    assert not OrderSearch.objects.get().wishes


def test_what_somebody_else_looked_for_meanwhile_is_not_replaced_unseen(site, dairy):
    seen = look()
    ada = build.user("ada", first_name="Ada")
    look(fixed("bag", TUESDAY, 2), by_id=ada.pk)
    mine = {line("brick", TUESDAY): "2"}

    refused = post(site, seen=seen.pk, **mine)
    latest = OrderSearch.objects.first()
    post(site, seen=latest.pk, **mine)

    assert (
        "Ada has looked for orders since you opened this page, today 12:00 pm. Wishes "
        f"then: Exactly 2 {TIMES} bag of sugar from Dairy tomorrow. Yours are kept here"
        in words(refused)
    )
    assert typed(refused, line("brick", TUESDAY)) == ["2"]
    assert f'name="seen" value="{latest.pk}"' in refused
    (wish,) = OrderSearch.objects.first().kept_wishes.fixed_lines
    assert wish.packs == 2
    assert OrderSearch.objects.first() != latest


def test_entries_are_kept_while_another_search_runs(site, dairy):
    start_search(Asked("quick"), at=NOON)

    html = post(site, seen="", **{line("brick", TUESDAY): "2"})

    assert "Better orders are being looked for already." in html
    assert typed(html, line("brick", TUESDAY)) == ["2"]
    assert 'name="seen" value=""' in html  # what that search finds is not seen yet


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


def test_wishes_take_one_query_more_for_the_best_without_them(
    site, dairy, django_assert_num_queries
):
    look()
    look(fixed("brick", TUESDAY, 3))
    page(site)

    # session, user, bakery; the search; the plan's 7; what waits; the one without
    with django_assert_num_queries(13):
        page(site)


def test_reasons_lead_on_to_the_items_days(site, dairy):
    butter = Item.objects.get(name="butter")

    html = content(site, "orders")

    assert (
        f'<a href="{reverse("planning:ahead", args=[butter.pk])}">Butter, day' in html
    )


def test_of_many_warnings_the_first_few_stand_and_the_rest_is_a_tap_away(site, dairy):
    lines = [(build.item(f"spice {number}"), 5) for number in range(7)]
    build.planned_cake(build.cake(lines=lines), due_on=WEDNESDAY)

    shown = page(site, "orders")

    before, after = shown.split("2 more of these")
    assert "Spice 4:" in before
    assert "Spice 5:" not in before
    assert "Spice 6:" in after


def test_a_line_that_nothing_suggests_is_fixed_too(site, dairy):
    far = build.supplier("Far Dairy")
    box = build.pack(build.item("salt"), far, label="box")
    more = {"more_pack": box.pk, "more_on": FRIDAY.isoformat(), "more_packs": "2"}

    noted = post(site, step="add", **more)
    post(site, **more)

    assert typed(noted, line("box", FRIDAY)) == ["2"]
    assert OrderSearch.objects.get().kept_wishes == fixed("box", FRIDAY, 2)


@pytest.mark.parametrize(
    "more",
    [
        {"more_pack": "brick"},
        {"more_packs": "2"},
        {"more_pack": "brick", "more_on": "soon", "more_packs": "2"},
    ],
)
def test_half_a_line_is_refused_and_kept(site, dairy, more):
    if "more_pack" in more:
        more = more | {"more_pack": str(Pack.objects.get(label="brick").pk)}

    html = post(site, **more)

    assert "Say which pack, which day and how many." in words(html)
    for name in more.keys() - {"more_pack"}:
        assert typed(html, name) == [more[name]]
    assert "more_pack" not in more or f'<option value="{more["more_pack"]}" sel' in html
    assert not OrderSearch.objects.exists()
