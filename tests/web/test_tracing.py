"""Trace: the page of a lot, a delivery, an order or a cake, its CSV, and the search."""

import csv
import re
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection
from django.test.utils import CaptureQueriesContext

from stock.holding.holding import hold_lot
from stock.models import Lot
from tests import build
from tests.build import MONDAY
from tests.planning.bakes import bake, make
from tests.planning.traced import traced_kitchen
from tests.web.reading import page

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def kitchen():
    return traced_kitchen()


def plain(markup):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", markup))


def rows(browser, address):
    sent = browser.get(address)
    assert sent["Content-Type"].startswith("text/csv")
    assert "attachment" in sent["Content-Disposition"]
    return list(csv.DictReader(StringIO(sent.content.decode())))


def test_a_lot_shows_both_ways_on_one_page(signed_in, kitchen):
    hold_lot(kitchen.flour_lot.pk, reason="recall")

    shown = plain(page(signed_in, f"/trace/lot/{kitchen.flour_lot.pk}/"))

    assert "Trace lot F1" in shown
    assert "In 1 cake: 2122." in shown
    assert "Honey cake, Tue May 5 (2122)" in shown
    assert "Mill, order 2026-004" in shown
    assert "Rack. On hold" in shown
    assert "21 CFR 1.337 and 1.345 are orientation: local rules decide." in shown


def test_a_cake_shows_what_went_into_it(signed_in, kitchen):
    sent = page(signed_in, f"/trace/cake/{kitchen.planned.pk}/")
    shown = plain(sent)

    assert 'href=""' not in sent
    assert "1 batch of layers (M" in shown
    assert "Mill, order 2026-004" in shown
    assert "From a workbook" in shown  # the box


def test_a_cake_that_is_not_baked_says_what_to_do(signed_in, kitchen):
    planned = build.planned_cake(kitchen.honey_cake)

    shown = plain(page(signed_in, f"/trace/cake/{planned.pk}/"))

    assert "Nothing was recorded: mark the cake as baked." in shown


def test_the_csv_has_one_row_a_link(signed_in, kitchen):
    found = rows(signed_in, f"/trace/lot/{kitchen.flour_lot.pk}/links.csv")

    assert [(row["Direction"], row["Quantity"], row["Left"]) for row in found] == [
        ("back", "3000", ""),
        ("forward", "600", ""),
        ("forward", "700", ""),
        ("forward", "1000", ""),
        ("left", "", "2400"),
        ("left", "", "300"),
    ]
    delivered, _, baked, *_ = found
    assert delivered["Supplier"] == "Mill"
    assert delivered["Order"] == "2026-004"
    assert delivered["Lot"] == "F1"
    assert delivered["Use by"] == "2026-07-03"
    assert delivered["Day"] == "2026-05-04"
    assert delivered["Unit"] == "g"
    assert (baked["Cake"], baked["For"]) == ("honey cake", "2122")


def test_no_cell_of_the_csv_is_a_formula(signed_in, kitchen):
    lot_id = build.stock(kitchen.flour, 10, lot="=1+1", kind="received")

    (found, *_) = rows(signed_in, f"/trace/lot/{lot_id}/links.csv")

    assert found["Lot"] == "'=1+1"


@pytest.mark.parametrize("code", ["L/7 \"a\" 'b'", "🍰 12", "<b>7</b>", "%2F..", "a,b"])
def test_any_code_is_found_and_shown(signed_in, kitchen, code):
    lot_id = build.stock(kitchen.flour, 10, lot=code, kind="received")

    sent = signed_in.get("/trace/", {"what": code})

    assert sent.headers["Location"] == f"/trace/lot/{lot_id}/"
    assert b"<b>7</b>" not in signed_in.get(f"/trace/lot/{lot_id}/").content
    call_command("trace", code)


@pytest.mark.parametrize(
    ("typed", "kind"),
    [("f1", "lot"), (" F1 ", "lot"), ("#2122", "cake"), ("2026-004", "order")],
)
def test_what_is_typed_leads_to_its_page(signed_in, kitchen, typed, kind):
    sent = signed_in.get("/trace/", {"what": typed})

    assert sent.headers["Location"].startswith(f"/trace/{kind}/")


def test_an_unknown_code_names_the_nearest(signed_in, kitchen):
    shown = page(signed_in, "/trace/?what=2123")

    assert "There is no lot, cake or order" in shown
    assert "2122" in shown
    with pytest.raises(CommandError, match="Did you mean 2122"):
        call_command("trace", "2123")


def test_a_code_of_two_items_asks_which(signed_in, kitchen, capsys):
    sugar = build.item("sugar", on_hand_base=None)
    build.stock(sugar, 100, lot="F1", place=kitchen.rack)

    shown = page(signed_in, "/trace/?what=F1")

    assert "Which one?" in shown
    assert "Sugar, lot F1" in shown
    assert "Flour, lot F1" in shown
    with pytest.raises(CommandError, match="which\\? Say --item"):
        call_command("trace", "F1")
    call_command("trace", "F1", "--item", "Sugar")
    assert "Sugar, lot F1. In no cake" in capsys.readouterr().out


def test_an_item_finds_its_lots(signed_in, kitchen):
    build.stock(kitchen.flour, 100)

    shown = page(signed_in, "/trace/?what=Flour")

    assert "Flour, without lot or date" in shown


@pytest.mark.parametrize("address", ["/trace/lot/9999/", "/trace/bowl/1/"])
def test_what_is_not_there_is_not_found(signed_in, db, address):
    assert signed_in.get(address).status_code == 404
    assert signed_in.get(f"{address}links.csv").status_code == 404


def test_the_command_says_one_line_a_link(kitchen, capsys):
    call_command("trace", "2026-004")

    first, *links = capsys.readouterr().out.splitlines()

    assert first == "Order 2026-004, Mill. In 1 cake: 2122."
    assert links[0].endswith(": 3000 g, 2026-05-04")
    assert len(links) == 6


def test_a_lots_page_says_which_cakes_it_reached(signed_in, kitchen):
    shown = page(signed_in, f"/lots/{kitchen.flour_lot.pk}/")

    assert "In 1 cake: 2122." in shown
    assert f'href="/trace/lot/{kitchen.flour_lot.pk}/"' in shown


def test_orders_and_baked_cakes_lead_to_their_trace(signed_in, kitchen):
    order = page(signed_in, f"/orders/{kitchen.order.pk}/")
    cake = page(signed_in, f"/bake-plan/{kitchen.planned.pk}/")

    assert f'href="/trace/delivery/{kitchen.delivery.pk}/"' in order
    assert f'href="/trace/cake/{kitchen.planned.pk}/"' in cake


def test_many_steps_are_shown_when_asked_for(signed_in, kitchen, monkeypatch):
    monkeypatch.setattr("planning.web.tracing.page.MOST_STEPS", 2)
    address = f"/trace/lot/{kitchen.flour_lot.pk}/"

    few, every = page(signed_in, address), page(signed_in, f"{address}?steps=all")

    assert "Show all steps" in few
    assert "Show all steps" not in every
    assert every.count("<tr") == few.count("<tr") + 1


def test_the_page_takes_as_many_queries_for_more_cakes(signed_in, kitchen):
    address = f"/trace/lot/{Lot.objects.get(code='F1').pk}/"
    page(signed_in, address)
    with CaptureQueriesContext(connection) as few:
        page(signed_in, address)
    for _ in range(3):
        make(kitchen.layers)
        bake(build.planned_cake(kitchen.honey_cake, due_on=MONDAY))

    with CaptureQueriesContext(connection) as many:
        page(signed_in, address)

    assert len(many) == len(few)


def test_the_trace_of_a_cake_names_it_without_a_sum(kitchen, capsys):
    call_command("trace", "2122")

    assert capsys.readouterr().out.splitlines()[0] == "Honey cake, Tue May 5 (2122)."
