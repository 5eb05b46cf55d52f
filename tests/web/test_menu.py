"""The menu marks where one is, and offers only pages that exist."""

import sys
import types

import pytest
from django.template import engines
from django.test import RequestFactory, override_settings
from django.urls import path

LINKS = (
    "{% load layout %}"
    '{% menu_link "today" "Today" %}{% menu_link "orders" "Orders" %}'
    '{% menu_link "reports" "Reports" %}'
)


@pytest.fixture
def two_pages():
    site = types.ModuleType("a_site_of_two_pages")
    site.urlpatterns = [
        path("", lambda request: None, name="today"),
        path("orders/", lambda request: None, name="orders"),
    ]
    sys.modules[site.__name__] = site
    with override_settings(ROOT_URLCONF=site.__name__):
        yield
    del sys.modules[site.__name__]


def menu(address):
    template = engines["django"].from_string(LINKS)
    return template.render({"request": RequestFactory().get(address)})


def test_the_page_in_view_is_marked(two_pages):
    assert '<a href="/orders/" aria-current="page">Orders</a>' in menu("/orders/")
    assert '<a href="/" aria-current="page">Today</a>' in menu("/")


def test_the_page_above_the_one_in_view_is_marked_but_today_is_above_none(two_pages):
    markup = menu("/orders/7/")

    assert '<a href="/orders/" aria-current="true">Orders</a>' in markup
    assert '<a href="/">Today</a>' in markup


def test_a_page_that_is_not_wired_has_no_link(two_pages):
    assert "Reports" not in menu("/")
