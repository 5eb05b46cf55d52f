"""The door through which a phone sends its entries, and gets an answer for each.

Values out of what a phone sends, each refused where it is not what it should be.
"""

import json
from collections.abc import Mapping
from datetime import UTC, date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any
from uuid import UUID

from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from stock.counts.counting import EntryAnswer, EntryIn, take_entries
from stock.models.counts import LONGEST_LOT
from stock.web.counts.phone import question_json

LARGEST_ID = 2**63 - 1


def whole(value: object) -> int:
    """Return a number that a row may have; raises TypeError or ValueError."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise TypeError(value)
    if not 0 <= value <= LARGEST_ID:
        raise ValueError(value)
    return value


def text(value: object) -> str:
    """Return a text that can be stored; raises TypeError or UnicodeError."""
    if not isinstance(value, str) or "\0" in value:
        raise TypeError(value)
    value.encode()  # half a character, as some keyboards send it, cannot be stored
    return value


def day(value: object) -> date | None:
    """Return a date, None where there is none; raises TypeError or ValueError."""
    return date.fromisoformat(text(value)) if value else None


# What one sending may hold; the sheet sends a hundred at a time.
MOST_ENTRIES = 1_000
LONGEST_DEVICE, LONGEST_KIND = 40, 12
# What malformed entries raise.
UNUSABLE = (ValueError, KeyError, TypeError, OverflowError, InvalidOperation)
UNREADABLE = gettext_lazy("This entry could not be read. Type it again.")


@require_POST
def count_entries(request: HttpRequest) -> JsonResponse:
    """Take entries of any counts; each gets its own answer, a repeat the same one."""
    at = timezone.now()
    try:
        sent = json.loads(request.body)["entries"]
    except (ValueError, KeyError, TypeError, RecursionError):
        return JsonResponse({"sentence": _("Send a list of entries.")}, status=400)
    if not isinstance(sent, list) or len(sent) > MOST_ENTRIES:
        sentence = _("Send a list of at most {most_entries} entries.").format(
            most_entries=MOST_ENTRIES
        )
        return JsonResponse({"sentence": sentence}, status=400)
    readable, refused = [], []
    for each in sent:
        try:
            readable.append(entry_from_json(each))
        except UNUSABLE:
            refused.append(_refused(each))
    taken = take_entries(readable, at=at, sent_by_id=request.user.pk)
    told = [*map(_told, taken), *refused]
    # After they are stored: a page that was read before this moment may lack them.
    answered_at = timezone.now().isoformat()
    return JsonResponse({"answers": told, "answered_at": answered_at})


def entry_from_json(sent: Mapping[str, Any]) -> EntryIn:
    """Return an entry as a phone sends it; raises what is wrong with malformed ones."""
    if not isinstance(sent, Mapping):
        raise TypeError(sent)
    understood = sent.get("understood_base")
    supersedes = sent.get("supersedes")
    by = sent.get("by")
    return EntryIn(
        key=UUID(text(sent["key"])),
        count_id=whole(sent["count"]),
        place_id=whole(sent["place"]),
        item_id=whole(sent["item"]),
        text=text(sent["text"]),
        entered_at=_moment(sent["entered_at"]),
        by_id=None if by is None else whole(by),
        use_by=day(sent.get("use_by")),
        lot_code=text(sent.get("lot_code", ""))[:LONGEST_LOT],
        understood_base=None if understood is None else Decimal(understood),
        device=text(sent.get("device", ""))[:LONGEST_DEVICE],
        sequence=whole(sent.get("sequence", 0)),
        supersedes=UUID(text(supersedes)) if supersedes else None,
        asked=text(sent.get("asked", ""))[:LONGEST_KIND],
        confirmed=sent.get("confirmed") is True,
        typed=text(sent.get("typed", "")),
    )


def _moment(value: object) -> datetime:
    moment = datetime.fromisoformat(text(value))
    if moment.tzinfo is None:
        raise ValueError(value)
    return moment.astimezone(UTC)  # too near the end of all time: an overflow


def _told(answer: EntryAnswer) -> dict[str, object]:
    return {
        "key": str(answer.key),
        "outcome": answer.state.value,
        "sentence": answer.sentence,
        "words": answer.words,
        "question": question_json(answer.slip),
    }


def _refused(sent: object) -> dict[str, object]:
    key = sent.get("key", "") if isinstance(sent, dict) else ""
    return {
        "key": str(key) if isinstance(key, str | int) else "",
        "outcome": "refused",
        "sentence": UNREADABLE,
        "words": "",
        "question": None,
    }
