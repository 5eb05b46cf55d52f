"""Orders as files to take away."""

from collections.abc import Callable
from io import BytesIO
from urllib.parse import quote, urlencode
from zipfile import ZIP_DEFLATED, ZipFile

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from planning.exports.order_csv import order_csv
from planning.exports.order_files import file_stems
from planning.exports.order_message import order_mail, order_message, order_subject
from planning.exports.order_sheet import OrderSheet
from planning.exports.order_workbook import order_workbook
from planning.models import Order
from planning.orders.order_book import BookedOrder, booked_order, booked_orders
from stock.web.request.bakery_time import current_bakery

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
# ending -> what it is called, its media type, how it is written
FORMATS: dict[str, tuple[str, str, Callable[[OrderSheet], bytes]]] = {
    "xlsx": (gettext_noop("As a spreadsheet"), XLSX, order_workbook),
    "csv": (
        gettext_noop("As CSV"),
        "text/csv; charset=utf-8",
        lambda it: order_csv(it).encode(),
    ),
    "txt": (
        gettext_noop("As a message"),
        "text/plain; charset=utf-8",
        lambda it: order_message(it).encode(),
    ),
    "eml": (gettext_noop("As an e-mail"), "message/rfc822", order_mail),
}


def download_files(order: Order) -> list[tuple[str, str, str]]:
    """Return the links to an order's files; a cancelled one has none."""
    if order.state == Order.State.CANCELLED:
        return []
    return _links(order, "order_file")


def revision_files(order: Order) -> list[tuple[str, str, str]]:
    """Return the links to the files of an order's open revision."""
    return _links(order, "revision_file")


def _links(order: Order, page: str) -> list[tuple[str, str, str]]:
    return [
        (
            _(label),
            reverse(f"planning:{page}", args=[order.pk, ending]),
            ending.upper(),
        )
        for ending, (label, _media_type, _write) in FORMATS.items()
    ]


def mail_url(booked: BookedOrder) -> str:
    """Return what opens a mail to the supplier; nothing where it has no address."""
    address, sheet = booked.order.supplier.email, booked.sheet
    if not address:
        return ""
    query = {"subject": order_subject(sheet), "body": order_message(sheet)}
    return f"mailto:{quote(address, safe='@')}?{urlencode(query, quote_via=quote)}"


def order_file(request: HttpRequest, order_id: int, ending: str) -> HttpResponse:
    """Return one order as a spreadsheet, as CSV or as a message."""
    rows = Order.objects.exclude(state=Order.State.CANCELLED)
    row = get_object_or_404(rows.select_related("supplier"), pk=order_id)
    if ending not in FORMATS:
        raise Http404
    return file_response(
        booked_order(row, bakery=current_bakery(request)).sheet, ending
    )


def file_response(sheet: OrderSheet, ending: str) -> HttpResponse:
    """Return an order's sheet as a file of one of `FORMATS`."""
    _label, media_type, write = FORMATS[ending]
    [stem] = file_stems([sheet])
    return _attachment(write(sheet), f"{stem}.{ending}", media_type)


def orders_zip(request: HttpRequest) -> HttpResponse:
    """Return every order that was not sent yet, in all its forms."""
    unsent = Order.objects.filter(state__in=Order.UNSENT_STATES)
    booked = booked_orders(unsent, bakery=current_bakery(request))
    sheets = [each.sheet for each in booked if each.lines]
    buffer = BytesIO()
    with ZipFile(buffer, "w", ZIP_DEFLATED) as archive:
        for stem, sheet in zip(file_stems(sheets), sheets, strict=True):
            for ending, (_, _, write) in FORMATS.items():
                archive.writestr(f"{stem}.{ending}", write(sheet))
    name = f"orders-{timezone.localdate().isoformat()}.zip"
    return _attachment(buffer.getvalue(), name, "application/zip")


def _attachment(content: bytes, name: str, media_type: str) -> HttpResponse:
    """Return a file; its name has only letters, digits, hyphens and underscores."""
    return HttpResponse(
        content,
        content_type=media_type,
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
