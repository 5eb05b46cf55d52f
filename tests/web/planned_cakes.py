"""Cakes to plan for a Saturday."""

from datetime import date

from planning.models import PlannedCake
from tests import build

SATURDAY = date(2026, 5, 9)
Status = PlannedCake.Status


def lemon_cake(**fields):
    return build.cake("lemon cake", **fields)


def butter_cake(*, on_hand_base):
    """A cake of 300 g butter; Tuesdays and Fridays it can be bought."""
    butter = build.item("butter", on_hand_base=on_hand_base)
    dairy = build.supplier("Valley Dairy")
    build.pack(butter, dairy)
    return lemon_cake(lines=[(butter, 300)])
