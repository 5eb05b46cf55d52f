"""Ids of rows as browsers send them: in an address, in a field, in a list.

What no row can have for an id is no id: an address with it leads nowhere, and a field
with it says nothing.
"""

import re

from django.urls import register_converter

MOST_DIGITS = 18  # any more may not fit into a column of ids
ROW_ID = rf"[0-9]{{1,{MOST_DIGITS}}}"


class RowIdConverter:
    """`<row:name>` in an address."""

    regex = ROW_ID

    def to_python(self, value: str) -> int:
        """Return the id of an address."""
        return int(value)

    def to_url(self, value: int) -> str:
        """Return an id as it stands in an address."""
        return str(value)


register_converter(RowIdConverter, "row")


def sent_id(text: str | None) -> int | None:
    """Return the id or number that a browser sent; None where it is none.

    >>> sent_id("12"), sent_id("9" * 5_000), sent_id("-1"), sent_id(None)
    (12, None, None, None)
    """
    return int(text) if text and re.fullmatch(ROW_ID, text) else None
