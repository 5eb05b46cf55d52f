"""The documents that movements belong to, where another app keeps them.

A movement's key names its document: "delivery 12, line 3". What is undone is written
under the same key with "undone" behind it.
"""

import re
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import NamedTuple

from stock.models import Movement

KEY = re.compile(
    r"(?P<kind>[a-z]+) (?P<number>[0-9]{1,18}), line [0-9]+(?P<undone> undone)?"
)

# The note of what a count has written, or of what undoing it has.
COUNT_NOTE = re.compile(r"Count (?P<number>[0-9]{1,18})(?P<undone> undone)?")


class Document(NamedTuple):
    """What movements belong to: its words, and the address of its page."""

    words: str
    url: str


class DocumentKey(NamedTuple):
    """A kind of document, and the id of its row."""

    kind: str
    row_id: int


# Given ids of rows, returns the documents that are there; one query.
Finder = Callable[[Collection[int]], Mapping[int, Document]]

_finders: dict[str, Finder] = {}


def register(kind: str, finder: Finder) -> None:
    """Let a finder be asked for the documents of a kind."""
    _finders[kind] = finder


def document_key(movement_key: str | None) -> DocumentKey | None:
    """Return which document a movement's key names.

    >>> document_key("delivery 12, line 3 undone")
    DocumentKey(kind='delivery', row_id=12)
    >>> document_key("till 7") is None
    True
    """
    found = KEY.fullmatch(movement_key or "")
    return DocumentKey(found["kind"], int(found["number"])) if found else None


def is_undoing(movement_key: str | None) -> bool:
    """Whether a movement takes back what its document did.

    >>> is_undoing("delivery 12, line 3 undone"), is_undoing("delivery 12, line 3")
    (True, False)
    """
    found = KEY.fullmatch(movement_key or "")
    return found is not None and found["undone"] is not None


def count_of(movement: Movement) -> int | None:
    """Return the id of the count that wrote a movement, or was undone by it."""
    found = _count_note(movement)
    return int(found["number"]) if found else None


def takes_back(movement: Movement) -> bool:
    """Whether it takes back a delivery, bake, waste, move or count. Reads its move."""
    came = movement.amount_base > 0
    if counted := _count_note(movement):
        return counted["undone"] is not None
    if movement.waste_id is not None:
        return came
    if movement.move is not None:
        return came == (movement.place_id == movement.move.from_place_id)
    return is_undoing(movement.key)


def documents(keys: Iterable[DocumentKey]) -> dict[DocumentKey, Document]:
    """Return the documents that are known and there. One query for each kind."""
    ids_by_kind: dict[str, set[int]] = defaultdict(set)
    for key in keys:
        ids_by_kind[key.kind].add(key.row_id)
    return {
        DocumentKey(kind, row_id): document
        for kind, ids in ids_by_kind.items()
        if kind in _finders
        for row_id, document in _finders[kind](ids).items()
    }


def _count_note(movement: Movement) -> re.Match[str] | None:
    is_counted = movement.kind == Movement.Kind.COUNTED
    return COUNT_NOTE.fullmatch(movement.note) if is_counted else None
