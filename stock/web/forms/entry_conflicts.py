"""What a form says when somebody saved the same row after it was opened.

A form carries, hidden, the version that it was opened with and what its fields said
then. The second to save sees beside each field what was saved meanwhile, keeps what
was typed, and chooses: a field that only one of the two changed is as that one left
it, one that both changed shows both.
"""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.entry.cells import CellError
from stock.entry.entries import Column
from stock.errors import StockError
from stock.saving.versions import UNSEEN

VERSION, AS_OPENED, THEIRS = "version", "as_opened", "theirs"
LONGEST_VERSION = 10  # digits; more is no version of ours
LONGEST_SHOWN = 300  # letters of what was saved meanwhile

CHANGED_SINCE = gettext_lazy(
    "Somebody saved this after you opened it. Yours isn't saved yet: check the marked "
    "fields, then save again."
)
BLANK = "blank"


@dataclass(frozen=True, slots=True)
class FieldConflict:
    """One field that somebody else changed meanwhile, in words."""

    column: str
    theirs: str
    was: str | None  # None: not known
    is_mine_too: bool  # both changed it; else the field shows what was saved

    @property
    def words(self) -> str:
        """What was saved meanwhile, and what it was before."""
        saved = _("Saved meanwhile: {shown}").format(shown=_shown(self.theirs))
        if not self.is_mine_too:
            return _("{saved}, which stands here now. It was: {shown}.").format(
                saved=saved, shown=_shown(self.was)
            )
        if self.was is None:
            return _("{saved}. Yours stands here.").format(saved=saved)
        return _("{saved}. It was: {shown}. Yours stands here.").format(
            saved=saved, shown=_shown(self.was)
        )

    @property
    def keep_words(self) -> str:
        """What the box does that leaves the field as the other saved it."""
        return _("Keep {shown}").format(shown=_shown(self.theirs))


def seen_version(posted: Mapping[str, Any]) -> int:
    """Return the version that a form or button says it was opened with.

    A missing or unreadable one is UNSEEN, which no stored row is of.
    """
    text = str(posted.get(VERSION, "")).strip()
    is_number = text.isascii() and text.isdecimal() and len(text) <= LONGEST_VERSION
    return int(text) if is_number else UNSEEN


def opened_texts(posted: Mapping[str, Any]) -> dict[str, str]:
    """Return what a form's fields said when it was opened; empty if that is unknown."""
    try:
        texts = json.loads(str(posted.get(AS_OPENED, "")))
    except (ValueError, RecursionError):
        return {}
    if not isinstance(texts, dict):
        return {}
    return {
        name: text
        for name, text in texts.items()
        if isinstance(text, str) and _can_be_written(text)
    }


def opened_json(texts: Mapping[str, str]) -> str:
    """Return what a form's fields say, as it carries it."""
    return json.dumps(dict(texts))


def conflict(
    column: Column, *, mine: str, theirs: str, was: str | None
) -> FieldConflict | None:
    """Return how a field was changed by somebody else; None where both agree."""
    mine = canonical(column, mine)
    if theirs in (mine, was):
        return None
    return FieldConflict(column.name, theirs, was, is_mine_too=mine != was)


def canonical(column: Column, typed: str) -> str:
    """Return the one spelling of what was typed; as typed where it cannot be read."""
    try:
        return column.text(column.read(typed))
    except CellError:
        return typed


def _can_be_written(text: str) -> bool:
    """Whether a text is one that a page and both databases can hold."""
    try:
        text.encode()
    except UnicodeEncodeError:  # half of a letter outside the first plane
        return False
    return "\0" not in text


def _shown(text: str | None) -> str:
    if not text:
        return BLANK
    return text if len(text) <= LONGEST_SHOWN else f"{text[:LONGEST_SHOWN]}…"


def step(
    request: HttpRequest, job: Callable[..., object], pk: int, *, done: str
) -> bool:
    """Do what a button asks of a row, as of the version that its page showed.

    Say that it is done, or why not, and return whether it is.
    """
    try:
        job(pk, seen=seen_version(request.POST))
    except StockError as error:
        messages.error(request, str(error))
        return False
    messages.success(request, done)
    return True
