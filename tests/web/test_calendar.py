"""Your calendar: the address, what is read there, and whom it is kept from."""

from datetime import UTC, date, datetime, time, timedelta
from urllib.parse import urlsplit

import icalendar
import pytest
from django.urls import reverse

from planning.feeds.addresses import make_address, remove_address
from planning.models import CalendarFeed, Order
from planning.orders.drafting import draft_what_is_needed
from planning.orders.orders import Hand, approve_order, send_order
from stock.errors import StockError
from stock.models import Bakery
from tests import build
from tests.build import MONDAY, NOON
from tests.web.reading import page, told

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

TUESDAY, WEDNESDAY = MONDAY + timedelta(days=1), MONDAY + timedelta(days=2)


def address_of(person) -> str:
    """Make a person's address; return it as a calendar asks for it."""
    feed = make_address(person.pk, seen=0, at=NOON)
    return f"{reverse('planning:calendar_feed')}?key={feed.secret}"


def events(client, address) -> dict[str, icalendar.Event]:
    """Return the events of a calendar by their titles."""
    response = client.get(address)
    assert response.status_code == 200
    assert response["Content-Type"] == "text/calendar; charset=utf-8"
    calendar = icalendar.Calendar.from_ical(response.content)
    return {str(event["summary"]): event for event in calendar.walk("VEVENT")}


def alarms(event) -> list[timedelta]:
    return [alarm["trigger"].dt for alarm in event.walk("VALARM")]


def test_an_address_is_made_shown_made_anew_and_removed(signed_in):
    assert "Make your address" in page(signed_in, "/calendar/")

    signed_in.post("/calendar/make/")
    first = CalendarFeed.objects.get()
    shown = page(signed_in, "/calendar/")
    assert f"http://testserver/calendar.ics?key={first.secret}" in shown
    assert f'href="webcal://testserver/calendar.ics?key={first.secret}"' in (
        signed_in.get("/calendar/").content.decode()
    )

    signed_in.post("/calendar/make/", {"version": first.version})
    second = CalendarFeed.objects.get()
    assert second.secret != first.secret
    assert len(second.secret) == 32  # 24 bytes, 6 bits a letter

    signed_in.post("/calendar/remove/", {"version": second.version})
    assert not CalendarFeed.objects.exists()


def test_an_old_or_unknown_address_and_one_of_who_left_are_not_there(client):
    ada, bo = build.user("ada"), build.user("bo")
    old = address_of(ada)
    new = f"/calendar.ics?key={make_address(ada.pk, seen=1, at=NOON).secret}"
    of_bo = address_of(bo)
    bo.is_active = False
    bo.save()

    refused = [old, of_bo, "/calendar.ics", "/calendar.ics?key=", "/calendar.ics?key=x"]
    statuses = [client.get(address).status_code for address in refused]

    assert statuses == [404] * 5
    assert client.get(new).status_code == 200
    remove_address(ada.pk, seen=2)
    assert client.get(new).status_code == 404


def test_a_second_tap_or_a_stale_page_makes_no_other_address(signed_in):
    signed_in.post("/calendar/make/")
    feed = CalendarFeed.objects.get()

    again = signed_in.post("/calendar/make/")
    assert "changed after you opened it" in told(signed_in, again)[-1]
    stale = signed_in.post("/calendar/remove/", {"version": 7})
    assert "changed after you opened it" in told(signed_in, stale)[-1]

    assert CalendarFeed.objects.get().secret == feed.secret
    with pytest.raises(StockError):
        make_address(feed.person_id, seen=0, at=NOON)


def test_nothing_removed_is_no_error():
    remove_address(build.user("ada").pk, seen=0)

    assert not CalendarFeed.objects.exists()


def test_the_address_needs_no_sign_in_and_the_page_does(client):
    address = address_of(build.user("ada"))

    assert client.get(address).status_code == 200
    assert client.post(address).status_code == 405
    assert client.get("/calendar/").status_code == 302
    assert client.post("/calendar/make/").status_code == 302


def test_it_is_kept_out_of_caches(client):
    response = client.get(address_of(build.user("ada")))

    assert "no-store" in response["Cache-Control"]


def test_the_link_to_open_it_is_as_safe_as_the_page(signed_in):
    signed_in.post("/calendar/make/", secure=True)

    shown = signed_in.get("/calendar/", secure=True).content.decode()

    assert 'href="webcals://testserver/calendar.ics?key=' in shown


def test_the_secret_stands_where_no_log_takes_it_down(client):
    parts = urlsplit(address_of(build.user("ada")))

    assert parts.path == "/calendar.ics"
    assert parts.query.startswith("key=")


def test_an_orders_cut_off_becomes_its_delivery(client):
    build.dairy_kitchen()
    build.bakery(time_zone="America/Chicago")
    address = address_of(build.user("ada"))
    bakery = Bakery.objects.get()

    suggested = events(client, address)
    draft_what_is_needed(bakery=bakery, at=NOON)
    drafted = events(client, address)
    order = Order.objects.get(deliver_on=TUESDAY)
    for step in (approve_order, send_order):
        order.refresh_from_db()
        step(Hand(order.pk, order.version, at=NOON))
    sent = events(client, address)

    # Tuesday's truck is ordered by Monday, 2 pm in Chicago: 7 pm in UTC.
    cut_off, title = suggested["Order by 2:00 pm: Dairy"], "Order by 2:00 pm: Dairy"
    assert drafted[title]["uid"] == cut_off["uid"]
    assert {event["uid"] for event in suggested.values()} == {
        event["uid"] for event in drafted.values()
    }
    assert sent[f"Delivery: Dairy ({order.reference})"]["dtstart"].dt == TUESDAY
    assert f"cut-off-{order.supplier_id}-{TUESDAY}@testserver" not in {
        event["uid"] for event in sent.values()
    }


def test_a_cut_off_rings_the_day_before_and_two_hours_before(client):
    mill = build.supplier("Mill")
    build.bakery(time_zone="America/Chicago")
    cut_off_at = datetime(2026, 5, 8, 19, tzinfo=UTC)
    build.order(
        mill,
        deliver_on=date(2026, 5, 9),
        state=Order.State.APPROVED,
        order_by=cut_off_at,
        reference="2026-007",
    )

    [event] = events(client, address_of(build.user("ada"))).values()

    assert event["summary"] == "Order by 2:00 pm: Mill"
    assert event["description"] == "For delivery on Sat May 9."
    assert event["dtstart"].dt == cut_off_at
    assert event["dtstart"].params["TZID"] == "America/Chicago"
    assert alarms(event) == [timedelta(days=-1), timedelta(hours=-2)]
    assert event["url"] == f"http://testserver/orders/{Order.objects.get().pk}/"


def test_a_delivery_says_what_is_to_come_of_it(client):
    mill = build.supplier("Mill")
    flour = build.pack(build.item("flour"), mill, label="1 kg bag")
    rye = build.pack(build.item("rye"), mill, label="2 kg bag")
    order = build.order(mill, deliver_on=TUESDAY, reference="2026-007")
    build.order_line(order, flour, 3, received_packs=1)
    build.order_line(order, rye, 2, closed=True)

    [event] = events(client, address_of(build.user("ada"))).values()

    assert event["summary"] == "Delivery: Mill (2026-007)"
    assert event["dtstart"].dt == TUESDAY
    assert event["description"] == "2 x 1 kg bag, flour"
    assert alarms(event) == [timedelta(hours=7)]


def test_cakes_stand_on_their_day_but_for_those_cancelled_or_long_over(client):
    cake = build.cake("lemon cake")
    build.planned_cake(
        cake,
        due_on=WEDNESDAY,
        due_time=time(14),
        reference="2122",
        quantity=2,
        size="6 in round x 3",
        status="tentative",
        note="Door code 4711",
    )
    build.planned_cake(cake, due_on=WEDNESDAY, reference="T-1", status="cancelled")
    build.planned_cake(cake, due_on=MONDAY - timedelta(days=7), reference="T-2")
    build.planned_cake(cake, due_on=MONDAY - timedelta(days=8), reference="T-3")

    found = events(client, address_of(build.user("ada")))

    assert list(found) == ["Lemon cake (T-2)", "2 x Lemon cake (#2122), 2:00 pm"]
    event = found["2 x Lemon cake (#2122), 2:00 pm"]
    assert (event["dtstart"].dt, event["status"]) == (WEDNESDAY, "TENTATIVE")
    assert event["description"] == "6 in round x 3. Tentative"
    assert alarms(event) == [timedelta(hours=-15)]


def test_where_no_plan_can_be_made_the_rest_stands_and_that_is_said(client):
    cake = build.cake("lemon cake")
    build.recipe_lines(cake, [(cake.item, 1)])
    build.planned_cake(cake, due_on=WEDNESDAY, reference="2122")

    found = events(client, address_of(build.user("ada")))

    assert list(found) == [
        "Cut-offs missing: no plan could be made",
        "Lemon cake (#2122)",
    ]
    assert (
        "a cake cannot be part of a recipe"
        in found["Cut-offs missing: no plan could be made"]["description"]
    )


def test_the_number_of_questions_does_not_grow(client, django_assert_max_num_queries):
    address = address_of(build.user("ada"))
    mill = build.supplier("Mill")
    pack = build.pack(build.item("flour"), mill)
    for day in range(9):
        build.order(mill, deliver_on=MONDAY + timedelta(days=day), lines=[(pack, 1)])
        build.planned_cake(due_on=MONDAY + timedelta(days=day))

    with django_assert_max_num_queries(16):
        assert len(events(client, address)) == 18
