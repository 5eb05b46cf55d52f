"""The journal of a day: what moved, grouped by what it belongs to."""

import re
from datetime import datetime, timedelta
from decimal import Decimal

import pytest

from planning.models import Order
from planning.orders.orders import Hand
from planning.orders.receiving import Rest, receive_delivery
from planning.orders.undoing_deliveries import undo_delivery
from stock.ledger.correcting import OnHandRow, set_on_hand
from stock.models import Bakery, Movement
from stock.moving.moving import MoveEntry, move_stock, undo_move
from stock.wasting.wasting import WasteEntry, undo_waste, waste
from tests import build
from tests.build import MONDAY, NOON
from tests.stock import counts
from tests.web.reading import page

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

BEFORE = NOON - timedelta(days=3)
HEADING = re.compile(r"<h2>(?:<a href=\"([^\"]*)\">)?([^<]+)")


@pytest.fixture
def butter():
    """5 kg in the walk-in since Friday."""
    item = build.item("butter", place=build.place("walk-in"))
    build.stock(item, 5_000, at=BEFORE, lot="A", use_by=MONDAY)
    return item


@pytest.fixture
def freezer():
    return build.place("freezer")


def groups(browser, address="/journal/"):
    """The headings of a day, each with where it leads."""
    found = HEADING.findall(page(browser, address))
    return [(words, url) for url, words in found]


def wasted(item, by=None):
    entry = WasteEntry(item.pk, item.place_id, Decimal(500), "spoiled")
    return waste(entry, key="w", by_id=by.pk if by else None)


def moved(item, to_place):
    return move_stock(
        MoveEntry(item.pk, item.place_id, to_place.pk, Decimal(1_000)), key="m"
    )


def received(item):
    pack = build.pack(item, build.supplier("Dairy"), size_base=2_000)
    order = build.order(
        pack.supplier, reference="2026-004", lines=[(pack, 2)], deliver_on=MONDAY
    )
    hand = Hand(order.pk, order.version, at=NOON)
    delivery = receive_delivery(
        hand, key="d", bakery=Bakery.current(), rest=Rest.AS_ORDERED
    )
    return order, delivery


def test_each_group_says_what_it_belongs_to_and_leads_there(signed_in, butter, freezer):
    build.bakery(time_zone="UTC")
    row, move = wasted(butter), moved(butter, freezer)
    order, _ = received(butter)
    set_on_hand(OnHandRow(butter.pk, freezer.pk, Decimal(7), None, ""), note="found")
    count = counts.opened(butter.place, counted_at=NOON + timedelta(minutes=30))
    counts.enter(count, butter, "1 kg")
    counts.posted(count)

    told = groups(signed_in)

    assert told == [
        ("Count, today 12:30 pm", f"/count/{count.pk}/review/"),
        ("Corrected by hand", ""),
        ("Delivery of 2026-004, Dairy", f"/orders/{order.pk}/"),
        ("Moved from walk-in to freezer", f"/move/?done={move.pk}"),
        ("Wasted, spoiled", f"/waste/?done={row.pk}"),
    ]
    for _, url in told:
        assert not url or signed_in.get(url).status_code == 200


def test_a_line_says_who_when_how_much_where_and_of_which_lot(signed_in, butter):
    ada = build.user("bea", first_name="Bea", last_name="Baker")
    wasted(butter, by=ada)

    markup = re.sub(r"<[^>]+>|\s+", " ", page(signed_in, "/journal/"))
    said = re.sub(r"\s+", " ", markup)

    assert "Wasted, spoiled today noon, Bea Baker Butter" in said
    assert "minus 500 g walk-in, A, by today" in said


def test_what_is_undone_is_a_group_of_its_own(signed_in, butter, freezer):
    build.bakery(time_zone="UTC")
    undo_waste(wasted(butter).pk)
    undo_move(moved(butter, freezer).pk)
    order, delivery = received(butter)
    order.refresh_from_db()
    hand = Hand(order.pk, order.version, at=NOON)
    undo_delivery(hand, delivery.pk, bakery=Bakery.current())

    assert [words for words, _ in groups(signed_in)] == [
        "Undone: delivery of 2026-004, Dairy",
        "Delivery of 2026-004, Dairy",
        "Undone: moved from walk-in to freezer",
        "Moved from walk-in to freezer",
        "Undone: wasted, spoiled",
        "Wasted, spoiled",
    ]


def test_what_somebody_writes_is_never_taken_for_a_document(signed_in, butter):
    note = "Count 5 undone"
    row = OnHandRow(butter.pk, butter.place_id, Decimal(7), MONDAY, "A")
    set_on_hand(row, note=note)

    assert groups(signed_in) == [("Corrected by hand", "")]
    assert f". {note}</p>" in page(signed_in, "/journal/")


def test_the_items_history_says_the_same_and_leads_there_too(
    signed_in, butter, freezer
):
    build.bakery(time_zone="UTC")
    move = moved(butter, freezer)
    undo_move(move.pk)
    order, _ = received(butter)

    markup = page(signed_in, f"/shelves/{butter.pk}/")

    for words in ("Moved to freezer", "Moved from walk-in", "Move undone", "Received"):
        assert f">{words}</a>" in markup
    assert f'href="/orders/{order.pk}/"' in markup
    assert f'href="/move/?done={move.pk}"' in markup
    assert 'href="/journal/"' in markup


def test_a_day_is_the_bakerys_own(signed_in, butter):
    build.bakery(time_zone="America/Chicago")  # 7 pm there is midnight in UTC
    evening = datetime.fromisoformat("2026-05-03T23:30:00-05:00")
    build.stock(butter, -10, at=evening, kind=Movement.Kind.USED, note="late")

    assert ("late", "") not in groups(signed_in)
    assert groups(signed_in, "/journal/?day=2026-05-03") == [("late", "")]


def test_the_days_before_and_after_are_a_tap_away(signed_in, butter):
    today = page(signed_in, "/journal/")
    friday = page(signed_in, "/journal/?day=2026-05-01")

    assert 'href="?day=2026-05-03"' in today
    assert "Day after" not in today
    assert "Nothing moved on this day." in today
    assert 'href="?day=2026-04-30"' in friday
    assert 'href="?day=2026-05-02"' in friday
    assert "From a workbook" in friday


@pytest.mark.parametrize(
    "day", ["", "x", "2026-02-30", "9999-12-31", "0001-01-01", "9" * 400, "2026-05-05"]
)
def test_a_day_that_is_none_or_to_come_is_today(signed_in, day):
    response = signed_in.get("/journal/", {"day": day, "page": day})

    assert response.status_code == 200
    assert response.context["day"] == MONDAY


def test_what_is_recorded_on_a_later_day_says_so(signed_in, butter):
    markup = page(signed_in, f"/journal/?day={BEFORE:%Y-%m-%d}")

    assert "last Friday" in markup or "Fri noon" in markup
    assert "recorded today noon" in markup


def test_a_long_day_is_read_page_by_page(signed_in, butter):
    for number in range(43):
        build.stock(
            butter,
            -1,
            at=NOON - timedelta(minutes=number),
            kind=Movement.Kind.USED,
            note=f"use {number}",
            lot="A",
            use_by=MONDAY,
        )

    first, second = groups(signed_in), groups(signed_in, "/journal/?page=2")
    beyond = page(signed_in, "/journal/?page=3")

    assert len(first) == 40
    assert [words for words, _ in second] == ["use 40", "use 41", "use 42"]
    assert "Nothing more moved." in beyond


@pytest.mark.parametrize("rows", [1, 8])
def test_queries_do_not_grow_with_rows(signed_in, django_assert_num_queries, rows):
    build.bakery(time_zone="UTC")
    for number in range(rows):
        item = build.item(f"item {number}", place=build.place(), on_hand_base=900)
        pack = build.pack(item)
        order = build.order(pack.supplier, lines=[(pack, 2)])
        receive_delivery(
            Hand(order.pk, order.version, at=NOON),
            key=f"d{number}",
            bakery=Bakery.current(),
            rest=Rest.AS_ORDERED,
        )
        waste(WasteEntry(item.pk, item.place_id, Decimal(5), "staff"), key=str(number))
    assert Order.objects.count() == rows

    with django_assert_num_queries(7):  # of them three who it is, and on which clock
        signed_in.get("/journal/")
