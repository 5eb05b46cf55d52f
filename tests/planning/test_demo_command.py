"""Starting the demo again: what somebody worked in is theirs."""

import sqlite3
from contextlib import closing
from datetime import date
from decimal import Decimal
from io import StringIO

import pytest

from planning.management.commands import demo
from stock.ledger.correcting import OnHandRow, set_on_hand
from stock.ledger.levels import on_hand_base_by_place
from stock.models import Bakery, Item
from tests import build

TUESDAY = date(2026, 5, 5)


def database_of(path, last_login):
    with closing(sqlite3.connect(path)) as made:
        made.execute("CREATE TABLE auth_user (last_login TEXT)")
        made.execute("INSERT INTO auth_user VALUES (?)", [last_login])
        made.commit()
    return path


def test_a_demo_at_which_somebody_signed_in_is_kept(tmp_path):
    signed_in = database_of(tmp_path / "worked in?.sqlite3", "2026-05-04 12:00")
    untouched = database_of(tmp_path / "untouched.sqlite3", None)
    damaged = tmp_path / "damaged.sqlite3"
    damaged.write_bytes(b"SQLite format 3\0 and no more")

    assert demo.is_worked_in(signed_in)
    assert not demo.is_worked_in(untouched)
    assert not demo.is_worked_in(damaged)
    assert not demo.is_worked_in(tmp_path / "nothing.sqlite3")


@pytest.mark.django_db
def test_started_again_the_demo_is_as_it_was_left_and_says_so(monkeypatch):
    monkeypatch.setattr(demo, "make_in_background", lambda: None)
    out = StringIO()
    command = demo.Command(stdout=out)
    command._open(TUESDAY)
    flour, rack = Item.objects.get(name="bread flour"), build.place("new rack")
    set_on_hand(OnHandRow(flour.pk, rack.pk, Decimal(12_345)))

    bakery, as_of = command._open(TUESDAY)

    assert bakery == Bakery.objects.get()
    assert as_of.date() == TUESDAY
    assert on_hand_base_by_place(item=flour)[rack.pk] == 12_345
    assert f"{bakery.name} is as you left it in demo.sqlite3." in out.getvalue()
