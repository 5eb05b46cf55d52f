"""A kitchen on a read-only disk is read as ever, and says that it saves nothing.

Whoever is root may write anything; so the site runs without that right.
"""

import os
import re
import shutil

import pytest
from django.db import connection
from django.test import Client

from stock.backups.making import make_backup
from tests import build
from tests.build import NOON
from tests.elsewhere import manage
from tests.web.served import PASSWORD, Browser, served

PAGES = ("/", "/shelves/", "/bake-plan/", "/shortfalls/", "/orders/", "/count/")
LINE = "Nothing can be saved just now"


def without_roots_rights():
    if os.geteuid():
        return ()
    if not shutil.which("setpriv"):
        pytest.skip("setpriv is not installed, and root may write anything")
    right = "-dac_override"
    return ("setpriv", "--bounding-set", right, "--inh-caps", right)


@pytest.mark.skipif(connection.vendor != "sqlite", reason="needs a file of SQLite's")
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("journal", ["put away", "left behind"])
def test_a_read_only_disk_serves_reading_and_says_that_it_saves_nothing(
    journal, tmp_path, settings
):
    through = without_roots_rights()
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
    build.user("ada", password=PASSWORD)
    build.item("flour", place=build.place("rack"), on_hand_base=5_000)
    made = make_backup(tmp_path / "backups", at=NOON)
    folder = tmp_path / "disk"
    folder.mkdir()
    url = f"sqlite:///{folder / 'k.sqlite3'}"
    assert manage("restore", made.path, url=url).returncode == 0
    with served(url) as site:
        ada = Browser(site)
        assert ada.sign_in("ada")[0] == 200
        assert LINE not in ada.get("/")[1]
        if journal == "left behind":  # as a machine leaves it that loses its power
            left = {each.name: each.read_bytes() for each in folder.iterdir()}
    if journal == "left behind":
        assert len(left) == 3
        for name, content in left.items():
            (folder / name).write_bytes(content)
    shut(folder)

    try:
        with served(url, through=through) as site:
            ada.site = site
            pages = {page: ada.get(page) for page in PAGES}
            saved = ada.post("/shelves/places/add/", {"place": "loft"})
            sent = ada.send("/count/entries/", {"entries": []})
            signed_in = Browser(site).sign_in("ada")
            health = ada.get("/health/")
    finally:
        folder.chmod(0o700)

    assert {page: status for page, (status, _) in pages.items()} == dict.fromkeys(
        PAGES, 200
    )
    assert all(LINE in text for _, text in pages.values())
    assert "flour" in pages["/shelves/"][1].lower()
    assert saved[0] == 503
    assert "data is read-only just now, so nothing was saved" in plain(saved[1])
    assert sent[0] == 200  # nothing was sent, so nothing had to be saved
    assert signed_in[0] == 503
    assert health[0] == 503
    assert '"saving": "read-only"' in health[1]
    assert '"database": "ok"' in health[1]


def shut(folder):
    for each in folder.iterdir():
        each.chmod(0o400)
    folder.chmod(0o500)


def plain(page):
    return re.sub(r"&#x27;", "'", page)


@pytest.mark.skipif(connection.vendor != "postgresql", reason="needs PostgreSQL")
@pytest.mark.django_db(transaction=True)
def test_a_read_only_server_serves_reading_and_says_that_it_saves_nothing():
    ada = Client()
    ada.force_login(build.user("ada"))
    with connection.cursor() as cursor:
        cursor.execute("SET default_transaction_read_only = on")
    try:
        page = ada.get("/shelves/")
        saved = ada.post("/shelves/places/add/", {"place": "loft"})
        health = ada.get("/health/")
    finally:
        with connection.cursor() as cursor:
            cursor.execute("SET default_transaction_read_only = off")

    assert page.status_code == 200
    assert LINE in page.content.decode()
    assert saved.status_code == 503
    assert "data is read-only just now" in saved.content.decode()
    assert health.json()["checks"]["saving"] == "read-only"
    assert LINE not in ada.get("/shelves/").content.decode()
