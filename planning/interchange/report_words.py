"""What loading a kitchen did, or would do, in sentences."""

from collections.abc import Iterator, Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planning.entry.sheets import BAKE_PLAN
from planning.interchange.loading import LoadReport
from planning.models import PlannedCake
from stock.entry.entries import Change

BLANK = "nothing"
MOST_CAKES_NAMED = 5
# Of sheets whose name is not that of their rows.
NAMES_OF_ROWS = {
    "bake plan": "planned cakes",
    "stock": "stock lots",
    "open orders": "open order lines",
}


def sheet_sentences(report: LoadReport) -> Iterator[str]:
    """Yield a sentence for each sheet of the file: `Items: 3 added, 52 unchanged.`"""
    for name, kept in report.kept_by_sheet.items():
        counts = [
            (len(kept.added), "added"),
            (len(kept.changed_keys), "changed"),
            (kept.unchanged, "unchanged"),
            (kept.faulty, "faulty"),
        ]
        words = ", ".join(f"{count} {word}" for count, word in counts if count)
        yield f"{name}: {words or 'no rows'}."


def summary_sentence(report: LoadReport) -> str:
    """Return what came of all sheets: `58 items, 67 packs and 2 settings stored.`

    Only what is new or changed is counted.
    """
    counts = [
        (len(kept.added) + len(kept.changed_keys), name.lower())
        for name, kept in report.kept_by_sheet.items()
    ]
    said = [f"{count:,} {_of_one(name, count)}" for count, name in counts if count]
    if not said:
        return _("Nothing changes: all of it is stored already.")
    head, last = ", ".join(said[:-1]), said[-1]
    return (
        _("{head} and {last} stored.").format(head=head, last=last)
        if head
        else _("{last} stored.").format(last=last)
    )


def _of_one(name: str, count: int) -> str:
    """Return a sheet's name as what stands in it: 1 item, 2 items."""
    rows = NAMES_OF_ROWS.get(name, name)
    return rows.removesuffix("s") if count == 1 else rows


def closing_sentence(report: LoadReport, *, preview: bool) -> str:
    """Return what it comes to altogether."""
    if report.faults:
        return _("Nothing can be stored: {cells} to be put right.").format(
            cells=cells_words(len(report.faults))
        )
    if report.changes_nothing:
        return _("Nothing changes: all of it is stored already.")
    if preview:
        return _("Nothing was stored: this is what would be.")
    return _("All of it is stored.")


def baked_warning(report: LoadReport) -> str:
    """Return which stored cakes a file says are baked, and what that leaves undone.

    On its page a cake takes what it is made of as it is baked; a file may hold the
    stock that is left, so it takes nothing. Blank where no stored cake becomes baked.
    """
    kept = report.kept_by_sheet.get(BAKE_PLAN.name)
    baked = PlannedCake.Status.BAKED
    cakes = [
        change.key
        for change in (kept.changed if kept else ())
        if change.column == "status" and change.after == baked
    ]
    if not cakes:
        return ""
    return _(
        "Baked by this file: {names}. It takes nothing from the shelves: "
        "its Stock must say what is left, or set it by hand."
    ).format(names=names_words(cakes, MOST_CAKES_NAMED))


def cells_words(count: int) -> str:
    """Return how many cells, in words."""
    return ngettext("1 cell has", "{count} cells have", count).format(count=count)


def change_sentence(change: Change) -> str:
    """Return what one value was and is: `butter, par: 10 lb becomes 2 case.`"""
    before, after = change.before or BLANK, change.after or BLANK
    is_setting = change.column == "value"  # its name is the key
    what = change.key if is_setting else f"{change.key}, {change.column}"
    return _("{what}: {before} becomes {after}.").format(
        what=what, before=before, after=after
    )


def names_words(names: Sequence[str], most: int) -> str:
    """Return names in a row, the first of them where there are very many.

    >>> names_words(["flour", "sugar", "salt"], 2)
    'flour; sugar and 1 more'
    """
    shown = "; ".join(names[:most])
    if len(names) <= most:
        return shown
    return _("{shown} and {count} more").format(shown=shown, count=len(names) - most)
