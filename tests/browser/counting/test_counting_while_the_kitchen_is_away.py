"""The kitchen answers that it cannot: a phone goes by its own sheet meanwhile."""

import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest
from playwright.sync_api import expect

from tests.browser.counting.addresses import Address
from tests.browser.counting.kept import ready_for_offline
from tests.browser.counting.phones import (
    PATIENCE_MS,
    enter,
    field,
    ready,
    sent,
    texts,
    waiting,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


class Away(BaseHTTPRequestHandler):
    """What a proxy or the site itself says while the database is away."""

    def answer(self):
        body = b"<h1>The kitchen is away</h1>"
        self.send_response(503)
        self.send_header("Content-Type", "text/html")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    do_GET = do_POST = answer  # noqa: N815 (as the library calls them)

    def log_message(self, *words):
        pass


class AwayServer:
    """Stands where the kitchen stood."""

    def __init__(self):
        self.server = ThreadingHTTPServer(("localhost", 0), Away)
        self.host, self.port = self.server.server_address[:2]
        self.thread = self  # as a live server names its address
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def close(self):
        self.server.shutdown()
        self.server.server_close()


def test_a_kept_sheet_is_shown_while_the_kitchen_cannot_answer(
    phone, ada, count, shelf, live_server
):
    address, away, tab = Address(live_server), AwayServer(), phone(ada)
    sheet = f"{address.url}/count/{count.pk}/{shelf.pk}/"
    try:
        tab.goto(sheet, timeout=PATIENCE_MS)
        ready(tab)
        enter(tab, "butter", "2 c")
        sent(tab)
        ready_for_offline(tab)

        address.stands_at(away)
        tab.reload(timeout=PATIENCE_MS)
        ready(tab)
        enter(tab, "eggs", "3 flats")
        expect(waiting(tab)).to_contain_text("1 entry waits on this phone")
        expect(field(tab, "butter")).to_have_value("2 c")

        address.stands_at(live_server)
        tab.reload(timeout=PATIENCE_MS)
        ready(tab)
        sent(tab)
        assert texts(count) == {"butter": ["2 c"], "eggs": ["3 flats"]}
    finally:
        away.close()
        address.close()
