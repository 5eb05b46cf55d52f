"""Whether two plans are worked out from the same: a kitchen's fingerprint."""

from collections.abc import Collection, Iterable
from dataclasses import fields
from hashlib import sha256
from typing import Any

import numpy as np

from planning.engine.kitchen import Kitchen, OpenOrderLines, Window


def fingerprint(
    kitchen: Kitchen, window: Window, *, without_orders: Collection[str] = ()
) -> str:
    """Return a text that differs as soon as other orders might be the best.

    `without_orders` are open orders that are left out, by their references. The moment
    of the plan does not count, only its days: which deliveries are still in time is
    the caller's to look at, and so are the lines that people have decided on. Rows that
    were read in another order are the same rows.
    """
    digest = sha256()
    for columns in (
        kitchen.nodes,
        kitchen.lines,
        kitchen.cakes,
        kitchen.lots,
        _without(kitchen.open_orders, without_orders),
    ):
        _add(digest, sorted(_rows(columns)))
    days = window.from_on, window.days, window.tentative
    packs = kitchen.packs + kitchen.shop_packs
    for terms in ((kitchen.bakery,), kitchen.suppliers, packs):
        _add(digest, [repr(_values(each)) for each in terms])
    _add(digest, [repr(days)])
    return digest.hexdigest()


def exact_fingerprint(kitchen: Kitchen) -> str:
    """Return a text that differs as soon as anything in a kitchen does.

    Rows in another order count as another kitchen: sums of floats may differ by it.
    """
    digest = sha256()
    for part in (getattr(kitchen, field.name) for field in fields(kitchen)):
        if isinstance(part, tuple):  # of terms, each a few values
            _add(digest, [repr(_values(each)) for each in part])
        else:
            _add(digest, map(_exactly, _values(part)))
    return digest.hexdigest()


def _exactly(column: Any) -> str:
    if isinstance(column, np.ndarray):
        return f"{column.dtype.str} {column.tobytes().hex()}"
    return repr(column)


def _without(lines: OpenOrderLines, references: Collection[str]) -> OpenOrderLines:
    """Return the lines of all orders but some."""
    kept = [
        place
        for place, reference in enumerate(lines.references)
        if reference not in references
    ]
    return OpenOrderLines(
        references=[lines.references[place] for place in kept],
        supplier=lines.supplier[kept],
        node=lines.node[kept],
        amount_base=lines.amount_base[kept],
        due_on=[lines.due_on[place] for place in kept],
    )


def _add(digest: Any, texts: Iterable[str]) -> None:
    digest.update("\n".join(texts).encode())
    digest.update(b"\0")


def _rows(columns: Any) -> Iterable[str]:
    """Yield each row of columns of equal length as text."""
    lists = [
        column.tolist() if isinstance(column, np.ndarray) else column
        for column in (getattr(columns, field.name) for field in fields(columns))
    ]
    return map(repr, zip(*lists, strict=True))


def _values(terms: Any) -> list[Any]:
    """Return the values of a dataclass; sets have no order of their own."""
    values = [getattr(terms, field.name) for field in fields(terms)]
    return [
        sorted(value) if isinstance(value, frozenset) else value for value in values
    ]
