"""Whether two plans are worked out from the same: a kitchen's fingerprint."""

from collections.abc import Iterable, Sequence
from dataclasses import fields
from hashlib import sha256
from typing import Any

import numpy as np

from planning.engine.deliveries import Delivery
from planning.engine.kitchen import Kitchen, Window


def fingerprint(
    kitchen: Kitchen, window: Window, deliveries: Sequence[Delivery]
) -> str:
    """Return a text that differs as soon as other orders might be the best.

    The moment of the plan counts only by the deliveries that are still in time, and
    rows that were read in another order are the same rows.
    """
    digest = sha256()
    for columns in (
        kitchen.nodes,
        kitchen.lines,
        kitchen.cakes,
        kitchen.lots,
        kitchen.open_orders,
    ):
        _add(digest, sorted(_rows(columns)))
    days = window.from_on, window.days, window.tentative
    for terms in ((kitchen.bakery,), kitchen.suppliers, kitchen.packs, deliveries):
        _add(digest, [repr(_values(each)) for each in terms])
    _add(digest, [repr(days)])
    return digest.hexdigest()


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
