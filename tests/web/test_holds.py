"""Holds: a lot's page, the list, and what other pages say of a held lot."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest

from stock.holding.holding import hold_lot, release_hold
from stock.ledger import levels
from stock.models import Hold, Movement, Waste
from tests import build
from tests.build import MONDAY, NOON
from tests.web.reading import page, told

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.usefixtures("at_noon", "ledger_stays_whole"),
]

EARLIER = NOON - timedelta(days=3)


@pytest.fixture
def butter():
    """3 kg without a date, 2 kg of lot A for today, in the walk-in."""
    build.bakery(time_zone="UTC")
    item = build.item("butter", place=build.place("walk-in"))
    build.stock(item, 3_000, at=EARLIER)
    build.stock(item, 2_000, lot="A", use_by=MONDAY, at=EARLIER)
    return item


@pytest.fixture
def lot(butter):
    """The id of lot A."""
    return levels.lots_on_hand(item=butter)[0].lot_id


def plain(markup):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", markup))


def test_a_lot_is_held_with_a_reason_and_released(signed_in, lot):
    held = told(
        signed_in, signed_in.post(f"/lots/{lot}/hold/", {"reason": "dairy recall"})
    )
    shown = plain(page(signed_in, f"/lots/{lot}/"))
    row = Hold.objects.get()
    released = told(signed_in, signed_in.post(f"/holds/{row.pk}/release/"))

    words = "Butter, lot A, use by Mon May 4, 2026"
    assert held == [f"{words} is on hold: out of the plan and of use."]
    assert "Dairy recall" in shown
    assert "today noon, ada" in shown
    assert "keep the lot apart and marked. Local codes" in shown
    assert released == [f"{words} is released: back in the plan."]
    row.refresh_from_db()
    assert (row.held_by.username, row.released_by.username) == ("ada", "ada")
    assert "Dairy recall: today noon to today noon, released by ada" in plain(
        page(signed_in, f"/lots/{lot}/")
    )


@pytest.mark.parametrize("reason", ["", "   ", "x" * 201])
def test_a_reason_that_is_none_is_asked_for_beside_the_field(signed_in, lot, reason):
    response = signed_in.post(f"/lots/{lot}/hold/", {"reason": reason})

    assert response.status_code == 200
    assert "Say why it is on hold" in response.content.decode()
    assert not Hold.objects.exists()


def test_the_second_to_hold_it_sees_who_holds_it_and_why(signed_in, lot):
    hold_lot(lot, reason="recall", by_id=build.user("bea").pk)

    response = signed_in.post(f"/lots/{lot}/hold/", {"reason": "smells"})

    said = plain(response.content.decode())
    assert "is on hold already by bea: recall." in said
    assert Hold.objects.get().reason == "recall"


def test_a_double_tap_holds_once_and_releases_once(signed_in, lot):
    for _ in range(2):
        told(signed_in, signed_in.post(f"/lots/{lot}/hold/", {"reason": "recall"}))
    row = Hold.objects.get()
    told(signed_in, signed_in.post(f"/holds/{row.pk}/release/"))

    [said] = told(signed_in, signed_in.post(f"/holds/{row.pk}/release/"))

    assert said == "Butter, lot A, use by Mon May 4, 2026 was released already."


def test_a_stale_page_never_releases_a_newer_hold(signed_in, lot):
    old = hold_lot(lot, reason="recall")
    release_hold(old.pk)
    hold_lot(lot, reason="smells")

    [said] = told(signed_in, signed_in.post(f"/holds/{old.pk}/release/"))

    assert said.endswith("was put on hold again since: smells.")
    assert Hold.objects.filter(released_at=None).count() == 1


@pytest.mark.parametrize("address", ["/lots/999/", "/lots/999/hold/"])
def test_a_lot_that_is_not_there_is_not_found(signed_in, address):
    send = signed_in.post if "hold" in address else signed_in.get

    assert send(address).status_code == 404
    assert signed_in.post("/holds/999/release/").status_code == 404
    assert signed_in.get("/holds/999/release/").status_code == 405


def test_what_a_lot_went_into_is_listed_without_what_was_undone(signed_in, butter, lot):
    for amount, note in ((-300, "Made frosting"), (-200, "Made frosting")):
        use(butter, amount, note, key=f"bake 1, line {-amount}")
    use(butter, -50, "Cake C-1", key="bake 2, line 9")
    use(butter, 50, "Cake C-1 undone", key="bake 2, line 9 undone")
    build.stock(butter, -70, lot="A", use_by=MONDAY, kind=Movement.Kind.WASTED)

    shown = plain(page(signed_in, f"/lots/{lot}/"))

    listed = shown.partition("What it went into")[2].partition("History")[0]
    assert "Made frosting: 500 g" in listed
    assert "Cake C-1" not in listed


def test_all_of_a_document_is_summed_however_many_movements(signed_in, butter, lot):
    for line in range(60):
        use(butter, -1, "Made frosting", key=f"bake 1, line {line}")

    shown = plain(page(signed_in, f"/lots/{lot}/"))

    assert "Made frosting: 60 g, today noon" in shown


def test_what_is_not_by_a_document_is_summed_by_what_was_written(
    signed_in, butter, lot
):
    for note in ("till 7", "till 8", "till 7"):
        use(butter, -20, note, key=None)

    shown = plain(page(signed_in, f"/lots/{lot}/"))

    assert "Till 7: 40 g" in shown
    assert "Till 8: 20 g" in shown


def test_a_lot_says_that_more_was_made_of_it_and_shows_all(signed_in, butter, lot):
    for number in range(55):
        minute = NOON - timedelta(minutes=number)
        use(butter, -1, f"Cake C-{number}", key=f"bake {number}, line 1", at=minute)

    latest = page(signed_in, f"/lots/{lot}/")
    everything = page(signed_in, f"/lots/{lot}/?history=all")

    assert "Cake C-49" in latest
    assert "Cake C-50" not in latest
    assert "Show all 55" in latest
    assert "Show all entries" in latest
    assert plain(everything).count("Cake C-54") == 2  # what it went into, and history
    assert "Show all" not in everything


def use(item, amount, note, *, key, at=NOON):
    build.stock(
        item,
        amount,
        lot="A",
        use_by=MONDAY,
        kind=Movement.Kind.USED,
        note=note,
        key=key,
        at=at,
    )


def test_a_lot_that_went_into_nothing_says_so(signed_in, lot):
    assert "Nothing that was recorded." in page(signed_in, f"/lots/{lot}/")


def test_shelves_the_item_and_today_say_that_it_is_on_hold(signed_in, butter, lot):
    before = page(signed_in, "/shelves/")
    hold_lot(lot, reason="recall")

    shelves = plain(page(signed_in, "/shelves/"))
    item = page(signed_in, f"/shelves/{butter.pk}/")
    today = plain(page(signed_in, "/"))

    assert "on hold" not in before
    assert "1 lot on hold, out of the plan." in shelves
    assert "2 lots, 1 on hold" in shelves
    assert "2 kg, by today, lot A, on hold" in shelves
    assert "2 kg of it on hold, out of the plan." in plain(item)
    assert "Use first" not in plain(item).partition("History")[0]
    assert f'href="/lots/{lot}/"' in item
    assert "<strong>On hold</strong>" in item
    assert "On hold: keep it apart." in today


def test_waste_offers_a_held_lot_only_by_name_and_says_so(signed_in, butter, lot):
    hold_lot(lot, reason="recall")
    entry = {"key": "k", "quantity": "1 kg", "unit": "", "reason": "spoiled"}

    form = page(signed_in, f"/waste/{butter.pk}/")
    source = {"source": f"{butter.place_id}-{lot}"}
    response = signed_in.post(f"/waste/{butter.pk}/", entry | source)

    assert "walk-in: 3 kg on record</option>" in form
    assert "walk-in: 2 kg, by today, lot A, on hold</option>" in form
    assert Waste.objects.get().lot_id == lot
    assert "4 kg left there. This lot is on hold." in plain(
        page(signed_in, response.url)
    )


def test_what_is_expired_and_held_stands_on_the_waste_list_and_says_so(signed_in):
    cream = build.item("cream", place=build.place())
    old = build.stock(cream, 750, lot="C", use_by=MONDAY - timedelta(days=1))
    hold_lot(old, reason="recall")

    assert "lot C, on hold" in page(signed_in, "/waste/")


def test_the_list_says_what_where_why_and_who(signed_in, butter, lot):
    empty = page(signed_in, "/holds/")
    hold_lot(lot, reason="recall", by_id=build.user("bea").pk)
    freezer = build.place("freezer")
    build.stock(butter, 500, place=freezer, lot="A", use_by=MONDAY)

    shown = plain(page(signed_in, "/holds/"))

    assert "No lot is on hold." in empty
    assert "Butter, lot A, use by Mon May 4, 2026 : 2.5 kg in walk-in, freezer" in shown
    assert "Recall today noon, bea" in shown


@pytest.mark.parametrize("rows", [1, 6])
def test_queries_do_not_grow_with_rows(signed_in, django_assert_num_queries, rows):
    for number in range(rows):
        item = build.item(f"item {number}", place=build.place())
        lot = build.stock(item, Decimal(100 + number), lot=f"L{number}")
        hold_lot(lot, reason="recall")

    with django_assert_num_queries(7):  # of them three who it is, and on which clock
        signed_in.get("/holds/")
    with django_assert_num_queries(10):
        signed_in.get(f"/lots/{lot}/")
