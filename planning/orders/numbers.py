"""Order numbers: the next free one of a year, given out once."""

from collections.abc import Iterable

from planning.models import LastNumber, Order


def next_number(year: int) -> str:
    """Give out the next order number of a year: 2026-014. Three queries.

    The number of a draft that is gone stays given out: somebody may have read it. The
    caller holds the lock (`wait_for_turn`).
    """
    last = LastNumber.objects.filter(year=year).first() or LastNumber(year=year)
    rows = Order.objects.filter(reference__startswith=f"{year}-")
    taken = [last.reference, *rows.values_list("reference", flat=True)]
    last.reference = number_after(taken, year)
    last.save()
    return last.reference


def number_after(taken: Iterable[str], year: int) -> str:
    """Return the number that follows the highest of a year.

    >>> number_after(["2026-009", "2026-013", "A-99"], 2026)
    '2026-014'
    """
    counts = [
        int(count)
        for reference in taken
        for start, _, count in [reference.partition("-")]
        if start == str(year) and count.isascii() and count.isdecimal()
    ]
    return f"{year}-{max(counts, default=0) + 1:03}"
