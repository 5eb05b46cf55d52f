"""What a page takes while others try passwords as fast as they can.

Assumed: `serve` with its own number of workers on this machine, an embedded database,
one person at work, and ten bad clients: first from one address, then from ten, as far
as the proxy can see. Each asks anew as soon as it has its answer.

    python -m tests.benchmarks.bench_signing_in
"""

import http.client
import os
import secrets
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlencode

from tests.stock.behind_proxy import free_port, listens, wait_until

HOST = "kitchen.example.com"
NAME, PASSWORD = "ada", "flour-and-water"
PAGE = "/shelves/"
BAD_CLIENTS = 10
PAGES = 60
PAUSE_S = 0.05  # between two pages that somebody opens
MANAGE = [sys.executable, "manage.py"]


class Client:
    """A browser at an address, as the proxy says it."""

    def __init__(self, port: int, address: str) -> None:
        self.port, self.address = port, address
        self.cookies: dict[str, str] = {}

    def ask(self, path: str, form: dict[str, str] | None = None) -> tuple[int, str]:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        headers = {
            "Host": HOST,
            "Origin": f"https://{HOST}",
            "X-Forwarded-Proto": "https",
            "X-Forwarded-For": self.address,
            "Cookie": "; ".join(
                f"{name}={said}" for name, said in self.cookies.items()
            ),
            "Content-Type": "application/x-www-form-urlencoded",
        }
        connection.request(
            "POST" if form else "GET", path, form and urlencode(form), headers
        )
        answer = connection.getresponse()
        page = answer.read().decode()
        for cookie in answer.headers.get_all("Set-Cookie") or []:
            name, _, said = cookie.split(";")[0].partition("=")
            self.cookies[name] = said
        connection.close()
        return answer.status, page

    def try_password(self, name: str, password: str) -> int:
        if "csrftoken" not in self.cookies:
            self.ask("/sign-in/")
        form = {"username": name, "password": password}
        return self.ask(
            "/sign-in/", form | {"csrfmiddlewaretoken": self.cookies["csrftoken"]}
        )[0]


@contextmanager
def served(folder: str) -> Iterator[int]:
    """Serve a kitchen in which somebody may sign in; yield the port."""
    port = free_port()
    environment = {
        **{name: said for name, said in os.environ.items() if name != "DEBUG"},
        "SECRET_KEY": secrets.token_urlsafe(50),
        "ALLOWED_HOSTS": HOST,
        "TRUSTED_ORIGINS": f"https://{HOST}",
        "PROXIES": "1",
        "DATABASE_URL": f"sqlite:///{folder}/kitchen.sqlite3",
        "DJANGO_SUPERUSER_PASSWORD": PASSWORD,
        "LOG_FILE": f"{folder}/log",
    }
    for words in (
        ["migrate", "--verbosity=0"],
        ["createsuperuser", "--noinput", f"--username={NAME}", "--email=a@b.example"],
    ):
        subprocess.run([*MANAGE, *words], env=environment, check=True)
    server = subprocess.Popen(
        [*MANAGE, "serve", "--bind", f"127.0.0.1:{port}"],
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        wait_until(lambda: listens(port), "no server")
        yield port
    finally:
        server.terminate()
        server.wait()


def measure(person: Client) -> list[float]:
    took_s = []
    for _ in range(PAGES):
        started_s = time.perf_counter()
        status, _page = person.ask(PAGE)
        took_s.append(time.perf_counter() - started_s)
        assert status == 200, status
        time.sleep(PAUSE_S)
    return took_s


@contextmanager
def under_attack(port: int, addresses: list[str]) -> Iterator[Counter[int]]:
    """Let bad clients try passwords meanwhile; yield what they are answered."""
    answers: Counter[int] = Counter()
    stop = threading.Event()

    def attack(number: int) -> None:
        client = Client(port, addresses[number % len(addresses)])
        tries = 0
        while not stop.is_set():
            tries += 1
            name = (NAME, f"guess {number}")[tries % 2]
            answers[client.try_password(name, f"wrong {tries}")] += 1

    threads = [threading.Thread(target=attack, args=(n,)) for n in range(BAD_CLIENTS)]
    for thread in threads:
        thread.start()
    try:
        yield answers
    finally:
        stop.set()
        for thread in threads:
            thread.join()


def say(what: str, took_s: list[float], answers: Counter[int]) -> None:
    middle = statistics.median(took_s)
    late = statistics.quantiles(took_s, n=20)[-1]
    tries = ", ".join(f"{n} of {status}" for status, n in sorted(answers.items()))
    print(f"{what:28} {middle:8.3f} s {late:8.3f} s {max(took_s):8.3f} s  {tries}")


def main() -> None:
    print("a page                         median      95 %      worst  tries answered")
    with tempfile.TemporaryDirectory() as folder, served(folder) as port:
        person = Client(port, "10.0.0.1")
        assert person.try_password(NAME, PASSWORD) == 302
        measure(person)
        say("nobody else", measure(person), Counter())
        for what, addresses in (
            ("ten, one address", ["10.9.0.1"]),
            ("ten, an address each", [f"10.8.0.{n}" for n in range(BAD_CLIENTS)]),
        ):
            with under_attack(port, addresses) as answers:
                took_s = measure(person)
            say(what, took_s, answers)
        say("nobody else again", measure(person), Counter())


if __name__ == "__main__":
    assert Path("manage.py").exists(), "run it beside manage.py"
    main()
