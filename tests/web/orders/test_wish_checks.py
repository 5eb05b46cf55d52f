"""Wishes that cannot be are refused beside their field, and no entry is lost."""

from datetime import timedelta

import pytest

from planning.models import OrderSearch
from planning.search.searching import SearchRequest, start_search
from stock.models import Item, Pack, Supplier
from tests import build
from tests.build import MONDAY, NOON
from tests.web.orders.pages import words
from tests.web.orders.wishing import (
    FRIDAY,
    TIMES,
    TUESDAY,
    WEDNESDAY,
    content,
    fixed,
    line,
    look,
    post,
    truck,
    typed,
)

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("packs", "sentence"),
    [
        ("3", "It is sold 2 at a time: write 2 or 4."),
        ("1", "It is sold from 2 packs on: write 2 or more, or 0 for none."),
        ("some", "'some' isn't a number. Write a bare number like 3."),
        ("2.5", "2.5 isn't a whole number."),
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
        (TUESDAY, "The cut-off was today 2:00 pm. Remove the wish."),
        (WEDNESDAY, "Dairy does not come on Wednesday. Remove the wish."),
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
        (lambda pack: pack.update(**RETIRED), "This pack is no longer sold"),
        (lambda pack: pack.delete(), "This pack is no longer sold"),
        (
            lambda _: Item.objects.filter(name="butter").update(**RETIRED),
            "butter is retired: remove the wish.",
        ),
        (
            lambda _: Supplier.objects.filter(name="Dairy").update(**RETIRED),
            "This pack is no longer sold",
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


def test_what_somebody_else_looked_for_meanwhile_is_not_replaced_unseen(site, dairy):
    seen = look()
    ada = build.user("ada", first_name="Ada")
    look(fixed("bag", TUESDAY, 2), by_id=ada.pk)
    mine = {line("brick", TUESDAY): "2"}

    refused = post(site, seen=seen.pk, **mine)
    latest = OrderSearch.objects.first()
    post(site, seen=latest.pk, **mine)

    assert (
        "Ada has looked for orders since you opened this page, today noon. Wishes "
        f"then: Exactly 2 {TIMES} bag of sugar from Dairy tomorrow. Yours are kept here"
        in words(refused)
    )
    assert typed(refused, line("brick", TUESDAY)) == ["2"]
    assert f'name="seen" value="{latest.pk}"' in refused
    (wish,) = OrderSearch.objects.first().kept_wishes.fixed_lines
    assert wish.packs == 2
    assert OrderSearch.objects.first() != latest


def test_entries_are_kept_while_another_search_runs(site, dairy):
    start_search(SearchRequest("quick"), at=NOON)

    html = post(site, seen="", **{line("brick", TUESDAY): "2"})

    assert "Best orders are being looked for already." in html
    assert typed(html, line("brick", TUESDAY)) == ["2"]
    assert 'name="seen" value=""' in html  # what that search finds is not seen yet


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
