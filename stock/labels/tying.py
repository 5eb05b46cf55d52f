"""Tying a bar code to a pack, once: from then on a scan finds it."""

from collections.abc import Iterable

from django.utils.translation import gettext as _

from stock.entry.gtin import read_gtin
from stock.errors import StockError
from stock.labels.reading import GTIN_DIGITS
from stock.models import Pack
from stock.saving import upsert

# How many leading zeros make of 14 digits which shorter number, longest run first.
SHORTER = (("000000", 8), ("00", 12), ("0", 13))


class BarCodeTakenError(StockError):
    """The pack has another bar code, which stays."""

    def __init__(self, pack: Pack, gtin: str) -> None:
        super().__init__(
            _(
                "{item}, {pack}, keeps its bar code {known}. To have {gtin} instead, "
                "edit the pack."
            ).format(
                item=pack.item.name, pack=pack.label, known=pack.gtin, gtin=short(gtin)
            )
        )


def short(gtin: str) -> str:
    """Return an item number of 14 digits as it is printed on its own bar code.

    >>> short("00416000336108"), short("12345678901231")
    ('416000336108', '12345678901231')
    """
    for zeros, digits in SHORTER:
        if gtin.startswith(zeros):
            return gtin[-digits:]
    return gtin


def packs_of_bar_code(gtin: str, among: Iterable[Pack] | None = None) -> list[Pack]:
    """Return the packs of a bar code, whatever zeros stand in front of either.

    Those still sold come first. One query, if not told among which.
    """
    bare = gtin.lstrip("0")
    if among is None:
        spelled = [bare.zfill(digits) for digits in (8, 12, 13, 14)]
        among = Pack.objects.filter(gtin__in=spelled).select_related("item", "supplier")
    found = [pack for pack in among if pack.gtin and pack.gtin.lstrip("0") == bare]
    return sorted(found, key=lambda pack: (pack.retired, pack.pk))


def tie_bar_code(pack_id: int, gtin: str) -> Pack:
    """Give a pack its bar code; one that has another keeps it, and that is said.

    Twice is the same. What else was typed of the pack meanwhile stays.
    """
    digits = read_gtin(gtin).zfill(GTIN_DIGITS)
    with upsert.together(None):
        pack = upsert.hold(Pack, pack_id)
        if pack.gtin and pack.gtin.lstrip("0") != digits.lstrip("0"):
            raise BarCodeTakenError(pack, digits)
        if not pack.gtin:
            pack.gtin = short(digits)
            pack.version += 1
            pack.save(update_fields=["gtin", "version"])
    return pack
