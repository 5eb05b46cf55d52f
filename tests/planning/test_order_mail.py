"""An order as an e-mail: read back by another reader, and no header let in."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from email import message_from_bytes, policy
from io import BytesIO

import openpyxl
import pytest

from planning.exports.order_message import order_mail, order_message
from planning.exports.order_sheet import OrderSheet, OrderSheetLine

ORDER = OrderSheet(
    bakery="Quince & Rye",
    currency="USD",
    reference="2026-004",
    supplier="Crème Dairy",
    deliver_on=date(2026, 5, 5),
    order_by=None,
    lines=[
        OrderSheetLine(
            "00123", "case 36 x 1 lb", "crème", 3, Decimal("118.80"), Decimal("356.40")
        )
    ],
    goods_cost=Decimal("356.40"),
    fee=Decimal(0),
    supplier_email="orders@dairy.example",
    note="Ring twice, the bell is weak, and bring the crème around to the alley",
)


def read(order):
    return message_from_bytes(order_mail(order), policy=policy.default)


def test_it_is_read_back_with_its_text_and_its_spreadsheet():
    mail = read(ORDER)

    assert mail["Subject"] == "Order 2026-004 from Quince & Rye"
    assert mail["To"] == "orders@dairy.example"
    text = mail.get_body().get_content()
    assert text.replace("\r\n", "\n") == order_message(ORDER)
    [sheet] = mail.iter_attachments()
    assert sheet.get_filename() == "2026-05-05_creme-dairy_2026-004.xlsx"
    book = openpyxl.load_workbook(BytesIO(sheet.get_content()))
    assert book["Lines"]["C2"].value == 3


@pytest.mark.parametrize(
    "address",
    ["a@b.example\nBcc: c@d.example", "a@b.example\r\nX: y", "a@b, c@d", "@", "nobody"],
)
def test_an_address_that_is_none_lets_no_header_in(address):
    mail = read(replace(ORDER, supplier_email=address))

    assert mail["Bcc"] is None
    assert mail["X"] is None
    assert mail["To"] in (None, "nobody")


@pytest.mark.parametrize("bakery", ["Quince\nBcc: c@d.example", "Rye\r\nX: y\x07"])
def test_a_name_on_two_lines_stays_in_the_subject(bakery):
    mail = read(replace(ORDER, bakery=bakery, reference="7\n8"))

    assert mail["Bcc"] is None
    assert mail["X"] is None
    assert mail["Subject"].startswith("Order 7 8 from ")
