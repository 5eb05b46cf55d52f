"""The site as it is served to phones, in a process of its own, and a browser for it."""

import json
import os
import re
import socket
import subprocess
import sys
import time
from contextlib import contextmanager
from http.cookiejar import CookieJar
from urllib.error import HTTPError, URLError
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, Request, build_opener

from django.conf import settings

STARTS_WITHIN_S = 60
PASSWORD = "flour and water"


@contextmanager
def served(url, *, through=()):
    """Serve the database of a URL; yield the site's address."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        port = listening.getsockname()[1]
    environment = {
        **os.environ,
        "DATABASE_URL": url,
        "SECRET_KEY": "for tests " * 6,
        "LOG_FILE": os.devnull,
    }
    server = subprocess.Popen(
        [
            *(*through, sys.executable, "-m", "gunicorn", "stock.site.wsgi"),
            *("--bind", f"127.0.0.1:{port}", "--workers", "1"),
            *("--worker-class", "gthread", "--threads", "4", "--log-level", "error"),
        ],
        cwd=settings.BASE_DIR,
        env=environment,
    )
    try:
        _wait_for(port)
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        server.wait()


def _wait_for(port):
    until = time.monotonic() + STARTS_WITHIN_S
    while time.monotonic() < until:
        with socket.socket() as asking:
            if asking.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.1)
    raise AssertionError("the site did not start")


class Browser:
    """Keeps its cookies, follows where it is sent, and takes a failure for an answer.

    Every answer is its status and its text.
    """

    def __init__(self, site):
        self.site, self.cookies = site, CookieJar()
        self.opener = build_opener(HTTPCookieProcessor(self.cookies))

    def get(self, path):
        return self._ask(path)

    def post(self, path, form):
        form = {"csrfmiddlewaretoken": self._token(), **form}
        return self._ask(path, urlencode(form).encode())

    def send(self, path, said):
        headers = {"Content-Type": "application/json", "X-CSRFToken": self._token()}
        body = json.dumps(said).encode()
        return self._ask(path, body, headers)

    def sign_in(self, name):
        self.get("/sign-in/")
        return self.post("/sign-in/", {"username": name, "password": PASSWORD})

    def again(self):
        """Return another browser of the same person, signed in."""
        other = Browser(self.site)
        for cookie in self.cookies:
            other.cookies.set_cookie(cookie)
        return other

    def _token(self):
        return next(each.value for each in self.cookies if each.name == "csrftoken")

    def _ask(self, path, body=None, headers=None):
        address = self.site + path
        request = Request(address, body, headers or {})  # noqa: S310 (this very site)
        try:
            with self.opener.open(request, timeout=30) as answer:
                return answer.status, answer.read().decode()
        except HTTPError as error:
            with error:
                return error.code, error.read().decode()
        except (URLError, TimeoutError, ConnectionError) as error:
            return 0, str(error)


def lead(page):
    """Return the sentence under a page's heading."""
    return re.search(r'<p class="lead">(.*?)</p>', page, re.DOTALL)[1].strip()
