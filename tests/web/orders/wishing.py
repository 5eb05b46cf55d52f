"""A buyer's wishes: how they are sent, and what the pages say of them."""

import re
from datetime import timedelta

from django.urls import reverse
from django.utils import timezone

from planning.engine.ordering.instance.wishes import FixedLine, KeptWishes
from planning.models import OrderSearch
from planning.search.searching import SearchRequest, start_search
from planning.search.worker import look_for_orders
from stock.models import Pack
from tests.build import MONDAY
from tests.web.orders.pages import words

TUESDAY, WEDNESDAY, FRIDAY, SATURDAY = (
    MONDAY + timedelta(days=days) for days in (1, 2, 4, 5)
)
TIMES = "\N{MULTIPLICATION SIGN}"


def content(site, name="order_search", *args):
    response = site.get(reverse(f"planning:{name}", args=args))
    assert response.status_code == 200
    return response.content.decode()


def page(site, name="order_search", *args):
    return words(content(site, name, *args))


def post(site, **data):
    data = {"effort": "quick"} | data
    response = site.post(reverse("planning:start_order_search"), data, follow=True)
    assert response.status_code == 200
    return response.content.decode()


def line(label, day):
    return f"line_{Pack.objects.get(label=label).pk}_{day.isoformat()}"


def truck(supplier, day):
    return f"truck_{supplier.pk}_{day.isoformat()}"


def typed(html, name):
    """What stands in the field of a wish."""
    fields = re.findall(rf'<input[^>]*name="{name}"[^>]*>', html)
    values = [re.search(r'value="([^"]*)"', field) for field in fields]
    return [value[1] for value in values if value]


def finish():
    search = OrderSearch.objects.first()
    look_for_orders(search.pk, now=timezone.now)
    return search


def look(wishes=None, **asked):
    start_search(
        SearchRequest("quick", wishes or KeptWishes()), at=timezone.now(), **asked
    )
    return finish()


def fixed(label, day, packs):
    return KeptWishes(
        fixed_lines=(FixedLine(Pack.objects.get(label=label).pk, day, packs),)
    )
