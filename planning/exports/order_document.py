"""A supplier order as a page to print, send and sign: the spreadsheet's first sheet.

An order of 25 lines stands on one page of Letter and of A4; rows are higher where
fewer lines leave room.
"""

from itertools import zip_longest

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from openpyxl.worksheet.worksheet import Worksheet

from planning.exports.order_page import (
    A4,
    BOX,
    CELL_PADDING,
    LETTER,
    MONEY_FORMAT,
    PIXEL,
    POINTS_PER_DIGIT,
    POINTS_PER_INCH,
    UNDER_HEADINGS,
    UNDER_LINE,
    UNDER_TITLE,
    CellStyle,
    Page,
    paper_of,
    text_width,
)
from planning.exports.order_sheet import OrderSheet, OrderSheetLine, text_lines
from stock.calendar.calendar_words import clock_words, date_words, long_date_words
from stock.wording.money_words import CENT
from stock.wording.safe_text import writable

NUMBER, CODE, WHAT, PACK, QTY, PRICE, TOTAL, BESIDE, CONFIRM = range(1, 10)
HEADINGS = (
    *(
        "#",
        gettext_lazy("Supplier code"),
        gettext_lazy("Description"),
        gettext_lazy("Pack"),
    ),
    *(
        gettext_lazy("Qty"),
        gettext_lazy("Price"),
        gettext_lazy("Total"),
        "",
        gettext_lazy("Confirm"),
    ),
)
# In digits. 94 are 523 points in programs that round nothing, as wide as A4 takes.
WIDTHS = (4, 13, 24, 19, 6, 9.5, 10, 1, 7.5)
LEAST_WHAT_WIDTH = 14
EVERY, LEFT_HALF, RIGHT_HALF = (NUMBER, CONFIRM), (NUMBER, WHAT), (PACK, CONFIRM)
SUM_LABEL = (PACK, PRICE)

SMALL, TEXT, BOLD = CellStyle(size=9), CellStyle(), CellStyle(bold=True)
SMALL_RIGHT, RIGHT = CellStyle(size=9, right=True), CellStyle(right=True)
BAKERY = CellStyle(size=13, bold=True, serif=True, right=True)
LONGEST_TITLE = 18  # letters; a longer number is set smaller
TITLE, PARTY = (
    CellStyle(size=20, bold=True, serif=True),
    CellStyle(15, bold=True, serif=True),
)
PACKS = CellStyle(size=11, bold=True, right=True)
ORDER_COST = PACKS
CAPTION = CellStyle(size=8, top=True, indent=1)

MOST_MORE = 10.0  # points that a line's row gets on top of its need
MORE_ON_MANY_PAGES = (9.0, 8.25, 9.75, 7.5, 10.5, 6.75, 6.0, 5.25)  # best first
HEADINGS_HEIGHT, SUM_HEIGHT = 15.0, 18.0
GAP, SIGNATURE_HEIGHT = 8.0, 33.0
SIDE_MARGIN, TOP_MARGIN, BOTTOM_MARGIN, FOOTER_MARGIN = 0.5, 0.4, 0.6, 0.3  # inches
MARGINS_HEIGHT = (TOP_MARGIN + BOTTOM_MARGIN) * POINTS_PER_INCH
SPARE_HEIGHT = 9.0  # programs round heights, each in its way
PAGE_HEIGHTS = tuple(
    paper.height - MARGINS_HEIGHT - SPARE_HEIGHT for paper in (LETTER, A4)
)
MOST_SHRUNK = 1.15  # what is so much higher than a page is printed smaller, on one

MOST_LETTERS_IN_FOOTER = 90  # all of it may be 255 long, and an & takes two
SIGNATURES = (
    (LEFT_HALF, gettext_lazy("Confirmed by, date")),
    ((PACK, QTY), gettext_lazy("Received by, time")),
    ((PRICE, CONFIRM), gettext_lazy("Temperature on arrival")),
)
PLEASE_CONFIRM = gettext_lazy("Please confirm, and say what you cannot bring.")


def write_order_document(sheet: Worksheet, order: OrderSheet) -> None:
    """Write an order onto an empty sheet and set the sheet up to be printed."""
    page = Page(sheet, _widths(order))
    _write_title(page, order)
    heading_row = _write_parties(page, order, row=4)
    _write_headings(page, heading_row)
    lines = [*order.lines, *order.removed]
    for number, line in enumerate(lines, start=1):
        _write_line(page, heading_row + number, line, number, _price_format(order))
    foot_row = heading_row + len(lines) + 1
    last_row = _write_foot(page, order, foot_row)
    parts = _Parts(page, heading_row, foot_row, last_row)
    more = parts.more_a_line
    for row in parts.line_rows:
        page.reach(row, page.height(row, row) + more)
    _set_up(sheet, order, parts)


def _widths(order: OrderSheet) -> list[float]:
    """Return column widths: figures get the room they take, at the description's cost.

    A figure that does not fit would be shown as ###.
    """
    figures = {
        QTY: ([f"{line.packs:,}" for line in order.lines], PACKS),
        PRICE: ([f"{line.price:,.4f}" for line in order.lines], RIGHT),
        TOTAL: ([f"{order.total_cost:,.2f}"], ORDER_COST),
    }
    widths = [float(width) for width in WIDTHS]
    for column, (words, look) in figures.items():
        points = max((text_width(each, look.size) for each in words), default=0.0)
        needed = (points + CELL_PADDING) / POINTS_PER_DIGIT
        more = max(needed - widths[column - 1], 0.0)
        widths[column - 1] += more
        widths[WHAT - 1] = max(widths[WHAT - 1] - more, LEAST_WHAT_WIDTH)
    return widths


def _price_format(order: OrderSheet) -> str:
    """Return a format that shows every place of every price, points below points."""
    are_whole_cents = all(line.price % CENT == 0 for line in order.lines)
    return MONEY_FORMAT if are_whole_cents else f"{MONEY_FORMAT}??"


def _write_title(page: Page, order: OrderSheet) -> None:
    title = _("Purchase order")
    if order.replaces:
        title = _("Purchase order, replaces {order}").format(order=order.replaces)
    page.put(1, LEFT_HALF, title, SMALL)
    page.put(1, RIGHT_HALF, order.bakery, BAKERY)
    number = order.number or _("Draft")
    page.put(2, LEFT_HALF, number, TITLE if len(number) <= LONGEST_TITLE else PARTY)
    page.put(2, RIGHT_HALF, _state_words(order), RIGHT)
    page.draw(2, EVERY, UNDER_TITLE)
    page.reach(3, GAP)


def _state_words(order: OrderSheet) -> str:
    if order.is_draft:
        return _("Draft, not approved yet") if order.number else _("Not approved yet")
    if order.ordered_on is None:
        return ""
    return _("Ordered {date}, {year}").format(
        date=date_words(order.ordered_on), year=order.ordered_on.year
    )


def _write_parties(page: Page, order: OrderSheet, row: int) -> int:
    """Write who is asked and where it goes; return the row of the lines' headings."""
    page.put(row, LEFT_HALF, "To", SMALL)
    deliver_on = _("Deliver on")
    if was := order.was_deliver_on:
        deliver_on = _("Deliver on, was {day}").format(day=long_date_words(was))
    page.put(row, RIGHT_HALF, deliver_on, SMALL)
    page.put(row + 1, LEFT_HALF, order.supplier, PARTY)
    page.put(row + 1, RIGHT_HALF, long_date_words(order.deliver_on), PARTY)
    row += 2
    for left, right in zip_longest(_supplier_facts(order), _delivery_facts(order)):
        for columns, fact in ((LEFT_HALF, left), (RIGHT_HALF, right)):
            if fact:
                words, is_bold = fact
                page.put(row, columns, words, BOLD if is_bold else TEXT)
        row += 1
    page.reach(row, GAP)
    count = len(order.lines)
    lines = ngettext("{count} line", "{count} lines", count).format(count=count)
    page.put(
        row + 1,
        EVERY,
        _("{lines}, prices in {currency}").format(lines=lines, currency=order.currency),
        SMALL,
    )
    return row + 2


def _supplier_facts(order: OrderSheet) -> list[tuple[str, bool]]:
    """Return whom to ask for and whose account it is: words, and whether bold."""
    contact = _("Contact: {what}").format(what=order.contact) if order.contact else ""
    account = (
        _("Our account: {account}").format(account=order.account)
        if order.account
        else ""
    )
    return [
        (words, words == account)
        for words in (
            contact,
            order.supplier_phone,
            order.supplier_email,
            account,
        )
        if words
    ]


def _delivery_facts(order: OrderSheet) -> list[tuple[str, bool]]:
    """Return by when to order, and where to bring it: words, and whether bold."""
    facts = [(line, False) for line in text_lines(order.deliver_to)]
    if facts:
        facts[0] = (_("Deliver to {facts}").format(facts=facts[0][0]), False)
    if order.order_by is not None:
        by = f"{date_words(order.order_by)}, {clock_words(order.order_by.time())}"
        facts.insert(0, (_("Order by {by}").format(by=by), False))
    if order.phone:
        facts.append((_("Phone {phone}").format(phone=order.phone), False))
    return [*facts, *((line, True) for line in text_lines(order.delivery_note))]


def _write_headings(page: Page, row: int) -> None:
    for column, heading in enumerate(HEADINGS, start=1):
        look = SMALL_RIGHT if QTY <= column <= TOTAL else SMALL
        page.put(row, (column, column), str(heading), look)
    page.draw(row, EVERY, UNDER_HEADINGS)
    page.reach(row, HEADINGS_HEIGHT)


def _write_line(
    page: Page, row: int, line: OrderSheetLine, number: int, price_format: str
) -> None:
    what = line.item[:1].upper() + line.item[1:]
    if line.change:
        what = f"{what} ({line.change})"
    for column, value, look in (
        (NUMBER, number, SMALL),
        (CODE, line.code, BOLD),
        (WHAT, what, BOLD if line.change else TEXT),
        (PACK, line.pack, TEXT),
        (QTY, line.packs, PACKS),
        (PRICE, line.price, RIGHT),
        (TOTAL, line.line_cost, RIGHT),
    ):
        page.put(row, (column, column), value, look)
    page.sheet.cell(row, QTY).number_format = "#,##0"
    page.sheet.cell(row, PRICE).number_format = price_format
    page.sheet.cell(row, TOTAL).number_format = MONEY_FORMAT
    page.draw(row, (NUMBER, TOTAL), UNDER_LINE)
    page.draw(row, (CONFIRM, CONFIRM), BOX)


def _write_foot(page: Page, order: OrderSheet, row: int) -> int:
    """Write sums, room for notes and signatures; return the last row."""
    page.reach(row, GAP)
    first = row + 1
    for label, money, look in (
        (_("Goods"), order.goods_cost, RIGHT),
        (_("Delivery"), order.fee, RIGHT),
        (
            _("Total, {currency}").format(currency=order.currency),
            order.total_cost,
            ORDER_COST,
        ),
    ):
        row += 1
        page.put(row, SUM_LABEL, label, look)
        page.put(row, (TOTAL, TOTAL), money, look).number_format = MONEY_FORMAT
        page.reach(row, SUM_HEIGHT)
        page.draw(row, LEFT_HALF, BOX)
    notes = _("Notes")
    if order.note:
        notes = _("Notes: {note}").format(note=order.note)
    page.put(first, LEFT_HALF, notes, CAPTION, last_row=row)
    page.reach(row + 1, GAP)
    page.put(row + 2, EVERY, str(PLEASE_CONFIRM), BOLD)
    page.reach(row + 2, SUM_HEIGHT)
    for columns, caption in SIGNATURES:
        page.put(row + 3, columns, str(caption), CAPTION)
        page.draw(row + 3, columns, BOX)
    page.reach(row + 3, SIGNATURE_HEIGHT)
    return row + 3


class _Parts:
    """Where a document's parts lie, and how its lines share the pages."""

    def __init__(self, page: Page, heading_row: int, foot_row: int, last_row: int):
        self.heading_row, self.last_row = heading_row, last_row
        self.line_rows = range(heading_row + 1, foot_row)
        self.head = page.height(1, heading_row)
        self.heading = page.height(heading_row, heading_row)
        self.lines = [page.height(row, row) for row in self.line_rows]
        self.foot = page.height(foot_row, last_row)

    @property
    def is_one_page(self) -> bool:
        """Whether it is printed on one page, a little smaller if need be."""
        height = self.head + sum(self.lines) + self.foot
        return height <= min(PAGE_HEIGHTS) * MOST_SHRUNK

    @property
    def more_a_line(self) -> float:
        """How many points each line's row gets on top of what its words need.

        On several pages as many as keep the sums and the signatures together.
        """
        if self.is_one_page:
            free = min(PAGE_HEIGHTS) - self.head - sum(self.lines) - self.foot
            each = min(max(free, 0.0) / max(len(self.lines), 1), MOST_MORE)
            return each // PIXEL * PIXEL
        return next(
            (
                more
                for more in MORE_ON_MANY_PAGES
                if all(self._keeps_foot_whole(more, height) for height in PAGE_HEIGHTS)
            ),
            MORE_ON_MANY_PAGES[0],
        )

    def _keeps_foot_whole(self, more: float, page_height: float) -> bool:
        free = page_height - self.head
        for line in self.lines:
            if line + more > free:
                free = page_height - self.heading
            free -= line + more
        return self.foot <= free


def _set_up(sheet: Worksheet, order: OrderSheet, parts: _Parts) -> None:
    sheet.sheet_view.showGridLines = False
    sheet.print_title_rows = f"{parts.heading_row}:{parts.heading_row}"
    sheet.print_area = f"A1:I{parts.last_row}"
    sheet.page_setup.paperSize = paper_of(order.currency).code
    sheet.page_setup.orientation = "portrait"
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 1 if parts.is_one_page else 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.print_options.horizontalCentered = True
    margins = sheet.page_margins
    margins.left = margins.right = SIDE_MARGIN
    margins.top, margins.bottom = TOP_MARGIN, BOTTOM_MARGIN
    margins.header = margins.footer = FOOTER_MARGIN
    footer = sheet.oddFooter
    number = (
        _("Order {number}").format(number=order.number) if order.number else _("Draft")
    )
    footer.left.text = _footer_text(f"{number}, {order.supplier}")
    footer.right.text = _("Page &P of &N")
    for part in (footer.left, footer.right):
        part.font, part.size = "Arial,Regular", 9


def _footer_text(text: str) -> str:
    """Return text for a printed footer, where & begins a code."""
    return writable(text)[:MOST_LETTERS_IN_FOOTER].replace("&", "&&")
