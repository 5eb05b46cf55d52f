"""What a review says of another count of its shelves that was posted and undone."""

from datetime import timedelta

import pytest

from stock.counts import counting
from tests import build
from tests.build import NOON
from tests.stock.counts import enter, opened, posted

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def remarks(browser, count):
    page = browser.get(f"/count/{count.pk}/review/")
    items = [*page.context["differing"], *page.context["agreeing"]]
    return [remark for item in items for remark in item.remarks]


def test_it_was_undone_by_somebody_and_nothing_of_it_stands(signed_in, butter, walk_in):
    ben = build.user("ben")
    first = opened(walk_in)
    enter(first, butter, "1 case")
    posted(first)
    other = opened(walk_in, counted_at=NOON + timedelta(minutes=20))
    enter(other, butter, "3 stick")
    posted(other, at=NOON + timedelta(hours=3))
    counting.undo_post(other.pk, at=NOON + timedelta(hours=4), by_id=ben.pk)
    counting.discard(other.pk, at=NOON + timedelta(hours=4))

    counting.undo_post(first.pk, at=NOON + timedelta(hours=5))

    (told,) = remarks(signed_in, first)
    assert told.endswith("undone by ben: nothing of it stands.")
    assert "corrected by another count today" in told
