"""PostgreSQL goes away under load and comes back: said clearly, and nothing is lost."""

import json
import os
import shutil
import socket
import subprocess
import threading
import time
from collections import Counter
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory
from uuid import uuid4

import psycopg
import pytest
from django.db import connection

from stock.backups.making import make_backup
from stock.counts import counting
from stock.database.unsaved import AWAY
from tests import build
from tests.build import NOON
from tests.elsewhere import manage
from tests.web.counts.sending import entry
from tests.web.served import PASSWORD, Browser, served

PHONES = 4

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(connection.vendor != "postgresql", reason="needs PostgreSQL"),
]


class Server:
    """A PostgreSQL of the test's own, which can be stopped without harm to others."""

    def __init__(self, folder):
        programs = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
        found = shutil.which("initdb") or (programs and str(programs[-1]))
        if not found:
            pytest.skip("PostgreSQL's server is not installed here")
        self.bin, self.data = Path(found).resolve().parent, folder / "data"
        self.as_owner = () if os.geteuid() else ("runuser", "-u", "postgres", "--")
        if not os.geteuid():  # the server refuses to run as root
            shutil.chown(folder, "postgres")
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self._run("initdb", "-D", self.data, "-A", "trust", "-U", "tierlarder")
        self.start()
        with self.asked("postgres") as database:
            database.execute("CREATE DATABASE kitchen")

    @property
    def url(self):
        return f"postgresql://tierlarder@127.0.0.1:{self.port}/kitchen"

    def asked(self, name="kitchen"):
        return psycopg.connect(
            host="127.0.0.1",
            port=self.port,
            user="tierlarder",
            dbname=name,
            autocommit=True,
        )

    def start(self):
        listening = f"-p {self.port} -k {self.data} -c listen_addresses=127.0.0.1"
        log = self.data / "log"
        self._run("pg_ctl", "-D", self.data, "-w", "-l", log, "-o", listening, "start")

    def stop(self):
        """Stop as a server that crashes: nothing is put away."""
        self._run("pg_ctl", "-D", self.data, "-m", "immediate", "stop")

    def _run(self, program, *words):
        subprocess.run(
            [*self.as_owner, str(self.bin / program), *map(str, words)],
            stdout=subprocess.DEVNULL,
            cwd="/",
            check=True,
        )


@pytest.fixture
def server():
    # Its owner would not reach into the folders of the tests.
    with TemporaryDirectory(prefix="tierlarder-") as folder:
        server = Server(Path(folder))
        yield server
        server.stop()


def send_all_day(phone, line, answers, is_over):
    """Send one entry after the other as a phone does; keep what was answered."""
    of_phone = line | {"device": str(id(phone))}
    for number in count():
        if is_over.wait(0.02):
            return
        sent = of_phone | {"key": str(uuid4()), "sequence": number}
        answers.append((sent, phone.send("/count/entries/", {"entries": [sent]})))


def test_a_server_that_crashes_under_load_is_missed_and_nothing_is_lost(
    server, tmp_path, settings, figure
):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
    build.user("ada", password=PASSWORD)
    flour = build.item("flour", place=build.place("rack"), on_hand_base=5_000)
    opened = counting.open_count(counted_at=NOON, at=NOON)
    made = make_backup(tmp_path / "backups", at=NOON)
    assert manage("restore", made.path, url=server.url).returncode == 0
    line = entry(opened, flour, "2 kg")
    answers, pages, is_over = [], [], threading.Event()

    with served(server.url) as site:
        reader = Browser(site)
        assert reader.sign_in("ada")[0] == 200
        signed_in = [reader.again() for _ in range(PHONES)]
        phones = [
            threading.Thread(target=send_all_day, args=(phone, line, answers, is_over))
            for phone in signed_in
        ]
        for phone in phones:
            phone.start()
        time.sleep(2)
        server.stop()
        for _ in range(3):
            pages.append(reader.get("/shelves/"))
            time.sleep(0.3)
        server.start()
        back = [reader.get("/shelves/")[0] for _ in range(2)]
        time.sleep(1)
        is_over.set()
        for phone in phones:
            phone.join()
        health = reader.get("/health/")

    kinds = Counter(status for _, (status, _) in answers)
    assert kinds.keys() == {200, 503}
    assert all(AWAY.sentence in said for _, (status, said) in answers if status == 503)
    assert {status for status, _ in pages} == {503}
    assert all(AWAY.title in page for _, page in pages)
    assert back == [200, 200]
    assert health[0] == 200
    stored = rows(server)
    taken = [sent["key"] for sent, (status, _) in answers if status == 200]
    outcomes = Counter(
        json.loads(said)["answers"][0]["outcome"]
        for _, (status, said) in answers
        if status == 200
    )
    assert outcomes.keys() <= {"taken", "replaced"}  # by the other phones' later ones
    assert all(stored[key] == 1 for key in taken)
    assert set(stored.values()) == {1}
    assert manage("verify_ledger", url=server.url).stdout.startswith("The ledger is wh")
    figure(
        f"database away: {len(taken)} entries acknowledged before and after a crash, "
        f"every one there once; {kinds[503]} told to try again"
    )


def rows(server):
    """Return how often each entry is stored, by its key."""
    with server.asked() as database:
        found = database.execute("SELECT key FROM stock_countentry").fetchall()
    return Counter(str(key) for (key,) in found)
