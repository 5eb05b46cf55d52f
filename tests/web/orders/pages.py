"""The pages of orders: read, and sent."""

import re
from html import unescape

from django.urls import reverse


def page(site, name, *args):
    response = site.get(reverse(f"planning:{name}", args=args))
    assert response.status_code == 200
    return text(response)


def text(response):
    """What is read on a page: its words, without tags and doubled spaces."""
    return words(response.content.decode())


def words(html):
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", html)))


def post(site, name, *args, **data):
    return site.post(reverse(f"planning:{name}", args=args), data, follow=True)
