"""`manage.py hold`: one line in, one line out."""

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from stock.models import Hold
from tests import build
from tests.build import MONDAY

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

TUESDAY = MONDAY + timedelta(days=1)


@pytest.fixture
def butter(shelf):
    """20 kg in the walk-in, of two lots; 1 kg of one of them in the freezer."""
    item = build.item("butter", place=shelf)
    build.stock(item, 5_000, lot="A", use_by=MONDAY)
    build.stock(item, 1_000, lot="A", use_by=MONDAY, place=build.place("freezer"))
    build.stock(item, 15_000, lot="B")
    return item


def hold(*words, **options):
    out = StringIO()
    call_command("hold", *words, stdout=out, **options)
    return out.getvalue()


def test_one_line_says_what_is_held_and_what_is_released(butter):
    by = build.user("bea").username

    held = hold("Butter", lot="a", reason="recall", by=by)
    released = hold("Butter", "--release", lot="a", by=by)

    words = "Butter, lot A, use by Mon May 4, 2026"
    assert held == f"{words}, on hold: recall; 6 kg out of the plan.\n"
    assert released == f"{words}, released; 6 kg back in the plan.\n"
    row = Hold.objects.get()
    assert (row.held_by.username, row.released_by.username) == ("bea", "bea")


def test_the_only_lot_needs_no_name(shelf):
    build.item("salt", place=shelf, on_hand_base=900)

    assert hold("salt", reason="wet").startswith("Salt, without lot or date, on hold")


def test_two_lots_of_one_code_are_told_apart_by_their_date(butter):
    build.stock(butter, 100, lot="A", use_by=TUESDAY)

    with pytest.raises(
        CommandError, match="A, use by 2026-05-04; A, use by 2026-05-05"
    ):
        hold("butter", lot="A", reason="recall")

    assert "May 5" in hold("butter", lot="A", use_by="2026-05-05", reason="recall")


@pytest.mark.parametrize(
    ("words", "options", "sentence"),
    [
        (("buter",), {"reason": "x"}, 'There is no item "buter". Did you mean butter?'),
        (("butter",), {"reason": "x"}, "Say which: --lot CODE, --use-by DATE."),
        (("butter",), {"reason": "x", "lot": "Z"}, 'no lot of butter "Z"'),
        (("butter",), {"reason": " ", "lot": "A"}, "Say why it is on hold"),
        (("butter", "--release"), {"lot": "A"}, "is not on hold."),
        (("butter",), {"reason": "x", "lot": "A", "use_by": "soon"}, "isn't a date"),
        (("butter",), {"lot": "A"}, "one of the arguments --reason --release"),
    ],
)
def test_what_cannot_be_done_is_one_sentence(butter, words, options, sentence):
    with pytest.raises(CommandError) as refused:
        hold(*words, **options)

    assert sentence in str(refused.value)
    assert "\n" not in str(refused.value)
    assert not Hold.objects.exists()
