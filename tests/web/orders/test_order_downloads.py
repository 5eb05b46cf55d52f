"""The files of an order have the figures of its page."""

import csv
import io
import json
import zipfile
from decimal import Decimal

import openpyxl
import pytest
from django.core.management import call_command
from django.urls import reverse

from planning.models import Order
from tests import build
from tests.web.orders.drafts import FRIDAY, State, draft
from tests.web.orders.pages import page, post

pytestmark = pytest.mark.django_db


def download(site, order, ending):
    response = site.get(reverse("planning:order_file", args=[order.pk, ending]))
    assert response.status_code == 200
    return response


def test_page_spreadsheet_csv_message_and_plan_have_the_same_totals(
    site, mill, cakes, flour, capsys
):
    mill.delivery_fee = Decimal("12.50")
    mill.save()
    flour.price = Decimal("10.1255")
    flour.save()
    call_command("plan", "--json", "--at", "2026-05-04T12:00")
    planned = json.loads(capsys.readouterr().out)["orders"]
    post(site, "draft_orders")
    order = Order.objects.get()

    shown = page(site, "order", order.pk)
    content = io.BytesIO(download(site, order, "xlsx").content)
    rows = list(openpyxl.load_workbook(content)["Order"].iter_rows(values_only=True))
    table = list(csv.reader(io.StringIO(download(site, order, "csv").content.decode())))

    # 3 x 10.1255 = 30.3765
    [plan] = planned
    assert (plan["goods"], plan["fee"], plan["total"]) == ("30.38", "12.50", "42.88")
    assert plan["lines"][0]["amount"] == "30.38"
    assert "Goods $30.38" in shown
    assert "Delivery $12.50" in shown
    assert "Total $42.88" in shown
    sums = {row[3]: row[6] for row in rows[-6:] if row[3] and row[6]}
    assert sums == {"Goods": 30.38, "Delivery": 12.5, "Total, USD": 42.88}
    assert table[1][2:5] == ["3", "10.1255", "30.38"]
    assert "= 42.88 USD" in download(site, order, "txt").content.decode()


def test_a_file_has_a_name_that_no_header_and_no_system_trips_over(site, flour):
    flour.supplier.name = 'Crème "Mill"; \\ filename=x.exe'
    flour.supplier.save()
    order = draft(flour.supplier, (flour, 3))

    header = download(site, order, "xlsx")["Content-Disposition"]

    name = "2026-05-05_creme-mill-filename-x-exe_2026-014.xlsx"
    assert header == f'attachment; filename="{name}"'


def test_there_is_no_file_of_another_kind_or_of_a_cancelled_order(site, mill, flour):
    order = draft(mill, (flour, 3))
    cancelled = build.order(mill, state=State.CANCELLED, lines=[(flour, 3)])

    for row, ending in ((order, "exe"), (cancelled, "xlsx")):
        url = reverse("planning:order_file", args=[row.pk, ending])
        assert site.get(url).status_code == 404


def test_all_that_is_not_sent_comes_in_one_file(site, mill, flour):
    draft(mill, (flour, 3))
    build.order(mill, reference="PO-7", deliver_on=FRIDAY, lines=[(flour, 3)])

    response = site.get(reverse("planning:orders_zip"))

    name = 'attachment; filename="orders-2026-05-04.zip"'
    assert response["Content-Disposition"] == name
    with zipfile.ZipFile(io.BytesIO(response.content)) as archive:
        assert archive.namelist() == [
            f"2026-05-05_mill-sons-co_2026-014.{ending}"
            for ending in ("xlsx", "csv", "txt", "eml")
        ]


def test_the_mail_link_carries_the_order(site, mill, flour):
    order = draft(mill, (flour, 3))

    markup = site.get(reverse("planning:order", args=[order.pk])).content.decode()

    start = "mailto:desk@mill.example?subject=Order%202026-014%20from%20Quince%20%26%20"
    assert start.replace("&", "&amp;") in markup
    assert "3%20x%201%20kg%20bag%2C%20flour" in markup
