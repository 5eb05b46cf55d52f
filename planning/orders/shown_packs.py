"""What a page has shown of an order's packs: no order goes out with others unseen.

A line names its pack, and what that holds and costs is read anew each time.
"""

import json
from collections.abc import Iterable, Sequence

from django.utils.translation import gettext as _

from planning.errors import PlanningError
from planning.models import Order, OrderLine
from stock.saving.sheets import PACKS

# What an order says of a pack, or is reckoned from.
SHOWN_COLUMNS = (
    "pack",
    "holds",
    "code",
    "price",
    "price_breaks",
    "minimum_packs",
    "multiple",
    "next_price",
    "next_price_from",
    "retired",
)
Says = dict[str, str]  # by a column's name; blank ones are left out


class OrderPacksChangedError(PlanningError):
    """An order is to go out whose packs are others than its page showed."""

    def __init__(self, reference: str, changes: Sequence[str]) -> None:
        what = _("Packs of {order} changed.")
        if changes:
            what = _("Packs of {order} changed since you opened the page: {changes}.")
        said = what.format(order=reference, changes="; ".join(changes))
        super().__init__(said + " " + _("Look at it again, then go on."))
        self.reference = reference
        self.changes = tuple(changes)


def packs_shown(lines: Iterable[OrderLine]) -> str:
    """Return what the packs of lines are now, as a page sends it back. No query."""
    said = {str(line.pack_id): _says(line) for line in lines}
    return json.dumps(said, ensure_ascii=False, separators=(",", ":"))


def refuse_changed_packs(
    order: Order, lines: Iterable[OrderLine], shown: str | None
) -> None:
    """Refuse a step from a page that had shown another pack than there is now.

    `shown` is the text of `packs_shown`; None: nobody looked at a page. The error says
    both, pack by pack. No query.
    """
    if shown is None or shown == packs_shown(lines := list(lines)):
        return
    was = _read(shown)
    changes = [
        _change(line, was[str(line.pack_id)])
        for line in lines
        if str(line.pack_id) in was and was[str(line.pack_id)] != _says(line)
    ]
    raise OrderPacksChangedError(order.reference, changes)


def _says(line: OrderLine) -> Says:
    pack = line.pack
    values = {name: getattr(pack, name, None) for name in SHOWN_COLUMNS}
    texts = {
        name: PACKS.column(name).text(value)
        for name, value in (values | {"pack": pack.label}).items()
    }
    return {name: text for name, text in texts.items() if text}


def _read(shown: str) -> dict[str, Says]:
    """Return what a page sent; nothing where no page of ours did."""
    try:
        sent = json.loads(shown)
    except (ValueError, RecursionError):
        return {}
    if not isinstance(sent, dict):
        return {}
    return {key: says for key, says in sent.items() if isinstance(says, dict)}


def _change(line: OrderLine, was: Says) -> str:
    now = _says(line)
    changes = [
        _("{column} was {before}, is {now}").format(
            column=PACKS.column(name).heading,
            before=was.get(name) or _("blank"),
            now=now.get(name) or _("blank"),
        )
        for name in SHOWN_COLUMNS
        if was.get(name, "") != now.get(name, "")
    ]
    name = _("{label} of {name}").format(
        label=line.pack.label, name=line.pack.item.name
    )
    return f"{name}: {', '.join(changes)}"
