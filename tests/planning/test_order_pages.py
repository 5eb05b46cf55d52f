"""An order as it is printed: which pages another program makes of it."""

import csv
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from planning.exports.order_page import A4, LETTER, lines_needed, paper_of
from planning.exports.order_sheet import OrderSheet, OrderSheetLine
from planning.exports.order_workbook import order_workbook
from tests import libreoffice

CHICAGO = ZoneInfo("America/Chicago")


def a_line(number: int) -> OrderSheetLine:
    """Two cases at 4.1439 are 8.2878, so 8.29."""
    return OrderSheetLine(
        code=f"BD-{number:04}",
        pack="case 36 x 1 lb",
        item=f"unsalted butter {number}",
        packs=2,
        price=Decimal("4.1439"),
        line_cost=Decimal("8.29"),
    )


def an_order(count: int, **changes: object) -> OrderSheet:
    facts = {
        "bakery": "Quillmere Cake Rooms",
        "currency": "USD",
        "reference": "2026-004",
        "supplier": "Brindlecote Dairy",
        "deliver_on": date(2026, 12, 8),
        "order_by": datetime(2026, 12, 7, 14, tzinfo=CHICAGO),
        "lines": [a_line(number) for number in range(1, count + 1)],
        "goods_cost": count * Decimal("8.29"),
        "fee": Decimal(15),
        "account": "Q-118",
        "contact": "Orla, mornings",
        "supplier_email": "orders@brindlecote.example",
        "supplier_phone": "(555) 010-0142",
        "deliver_to": "418 Tallow Street\nQuillmere",
        "phone": "(555) 010-0100",
        "delivery_note": "Alley door, before 8 am",
        "ordered_on": date(2026, 11, 28),
    }
    return OrderSheet(**{**facts, **changes})


LARGE = replace(
    a_line(1),
    packs=100_000,
    price=Decimal("98765.4321"),
    line_cost=Decimal("9876543210.00"),
)
LONG = replace(a_line(1), item=("pear and honey " * 8).strip(), code="CODE" * 15)
ORDERS = {
    "one line": an_order(1),
    "25 lines, Letter": an_order(25),
    "25 lines, A4": an_order(25, currency="EUR"),
    "60 lines, Letter": an_order(60),
    "60 lines, A4": an_order(60, currency="EUR"),
    "large figures": an_order(1, lines=[LARGE], goods_cost=LARGE.line_cost),
    "long words": an_order(
        1, lines=[LONG], supplier="Wild & Salt " * 10, deliver_to="far " * 100
    ),
}


@pytest.fixture(scope="module")
def printed(tmp_path_factory) -> dict[str, list[str]]:
    """The words of every page of each order, as another program prints it."""
    folder = tmp_path_factory.mktemp("printed")
    paths = [folder / f"{name}.xlsx" for name in ORDERS]
    for path, order in zip(paths, ORDERS.values(), strict=True):
        path.write_bytes(order_workbook(order))
    libreoffice.convert_all(paths, "pdf", folder)
    return {name: libreoffice.pdf_pages(folder / f"{name}.pdf") for name in ORDERS}


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_25_lines_stand_on_one_page(printed, paper):
    [page] = printed[f"25 lines, {paper}"]

    for words in ("2026-004", "Brindlecote Dairy", "Tuesday, Dec 8, 2026", "Q-118"):
        assert words in page
    assert "BD-0025" in page
    assert "222.25" in page  # 25 x 8.29 = 207.25, and 15.00 for the truck
    assert "Temperature on arrival" in page
    assert "Page 1 of 1" in page


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_60_lines_repeat_their_headings_and_keep_the_end_together(printed, paper):
    pages = printed[f"60 lines, {paper}"]

    assert len(pages) == 3
    for number, page in enumerate(pages, start=1):
        assert "Supplier code" in page
        assert f"Page {number} of 3" in page
    assert "BD-0060" in pages[2]
    for words in ("Goods", "Delivery", "Total,", "Notes", "Temperature on arrival"):
        assert words in pages[2]
        assert words not in pages[1]


def test_a_price_is_printed_to_its_last_place_and_a_total_to_the_cent(printed):
    [page] = printed["one line"]

    [row] = [line.split() for line in page.splitlines() if "BD-0001" in line]
    assert row[-3:] == ["2", "4.1439", "8.29"]


def test_large_figures_are_printed_as_figures(printed):
    [page] = printed["large figures"]

    assert "###" not in page
    for figure in ("100,000", "98,765.4321", "9,876,543,210.00", "9,876,543,225.00"):
        assert figure in page


def test_long_words_are_printed_whole(printed):
    [page] = printed["long words"]

    words = page.split()
    assert words.count("honey") == 8
    assert words.count("Salt") >= 10  # and in the footer
    assert words.count("far") == 100


def test_another_program_reads_the_same_figures(tmp_path):
    path = tmp_path / "order.xlsx"
    path.write_bytes(order_workbook(an_order(2)))

    libreoffice.convert(
        path,
        # Its last place names the sheet: the second.
        "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,false,false,2",
        tmp_path / "read",
    )

    with (tmp_path / "read" / "order-Lines.csv").open(newline="") as file:
        rows = list(csv.reader(file))
    assert rows[1][:6] == [
        *("BD-0001", "case 36 x 1 lb", "2", "4.1439", "8.29", "unsalted butter 1")
    ]
    assert [row[8] for row in rows] == ["Line", "1", "2"]


@pytest.mark.parametrize(
    ("currency", "paper"),
    [("USD", LETTER), ("CAD", LETTER), ("EUR", A4), ("GBP", A4), ("???", A4)],
)
def test_the_paper_is_the_one_in_the_printers_there(currency, paper):
    assert paper_of(currency) == paper


@pytest.mark.parametrize(
    ("text", "width", "lines"),
    [("", 50, 1), ("a b", 50, 1), ("flour flour", 40, 2), ("f" * 100, 100, 4)],
)
def test_words_break_where_a_line_is_full(text, width, lines):
    # At size 10: flour is 2.4 ems and so 24 points; 100 f are 34 ems.
    assert lines_needed(text, width=width, size=10) == lines
