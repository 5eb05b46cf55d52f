"""Post a count: show what it comes to, then correct the ledger."""

from argparse import ArgumentParser
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from stock.counts import counting
from stock.counts.errors import UndecidedError
from stock.counts.review import Review, ReviewRow
from stock.management import count_arguments as arguments
from stock.management.plain_command import PlainCommand
from stock.measures.amount_words import amount_words, say_compared
from stock.measures.nouns import with_noun
from stock.measures.slips import Slip
from stock.models import Bakery, Count

REMEDY = gettext_noop(
    "Choose the figures that are right in the review, or enter the right ones."
)
ASKED_REMEDY = gettext_noop(
    "With --as-entered those that were asked about stand as entered."
)
UNREAD_REMEDY = gettext_noop("With --as-entered the figure before it stands.")


class Command(PlainCommand):
    tells_days = True
    help = gettext_noop(
        "Posts a count: corrects the ledger to what was counted, once. What was not "
        "counted is left as it is."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        arguments.add_count(parser)
        arguments.add_by(parser)
        parser.add_argument(
            "--look", action="store_true", help=_("show the review, and post nothing")
        )
        parser.add_argument(
            "--as-entered",
            action="store_true",
            help=_(
                "figures that were asked about, and not answered, stand as "
                "entered; "
                "so does a figure before an entry that could not be read, or that "
                "is typed and not entered"
            ),
        )

        parser.add_argument(
            "--undo",
            action="store_true",
            help=_("undo a posted count; it is in review again"),
        )

    def handle(self, **options: Any) -> None:
        count = arguments.live_count(options["count"])
        if options["undo"]:
            by_id = arguments.person_id(options["by"])
            shelves = counting.undo_post(count.pk, at=timezone.now(), by_id=by_id)
            self.stdout.write(
                _("Count {pk} is undone. Lines as before: {shelves}.").format(
                    pk=count.pk, shelves=shelves
                )
            )
            return
        if count.state == Count.State.POSTED:
            corrected = counting.post_count(count.pk, at=timezone.now())
            self.stdout.write(_posted(count.pk, corrected, _("was posted already")))
            return
        review = counting.review(count.pk)
        for line in _printed(review, Bakery.current().currency):
            self.stdout.write(line)
        if options["look"]:
            return
        corrected = self._post(count, review, options)
        self.stdout.write(_posted(count.pk, corrected, _("is posted")))

    @transaction.atomic  # refused, the count is as open as it was
    def _post(self, count: Count, review: Review, options: dict[str, Any]) -> int:
        by_id = arguments.person_id(options["by"])
        if count.state == Count.State.OPEN:
            counting.send_to_review(count.pk)
        try:
            return counting.post_count(
                count.pk,
                at=timezone.now(),
                by_id=by_id,
                seen=review.shown,
                as_entered=options["as_entered"],
            )
        except UndecidedError as error:
            remedies = [
                REMEDY,
                ASKED_REMEDY if error.asked else "",
                UNREAD_REMEDY if error.unread or error.typed else "",
            ]
            raise UndecidedError(
                error.differing,
                error.asked,
                error.unread,
                error.typed,
                remedy=" ".join(filter(None, remedies)),
            ) from error


def _printed(review: Review, currency: str) -> Iterator[str]:
    for row in review.rows:
        yield f"{row.item.name}: {_row_words(row, currency)}"
        for line in row.lines:
            if line.slip:
                yield f"  {line.line.place.name}: {_question_words(line.slip)}"
            for said in line.unread:
                yield f"  {line.line.place.name}: {said.unread_sentence}"
            for sentence in line.typed_sentences:
                yield f"  {line.line.place.name}: {sentence}"
    if review.not_counted:
        names = ", ".join(
            f"{line.item.name} ({line.place.name})" for line in review.not_counted
        )
        yield _("Not counted, left as they are: {names}.").format(names=names)


def _question_words(slip: Slip) -> str:
    if slip.instead is None:
        return _("{sentence} Entered as {shown}.").format(
            sentence=slip.sentence, shown=slip.entered.shown
        )
    return _("{sentence} Entered as {shown}, or meant {meant}.").format(
        sentence=slip.sentence, shown=slip.entered.shown, meant=slip.instead.shown
    )


def _row_words(row: ReviewRow, currency: str) -> str:
    if row.variance_base is None or row.counted_base is None:
        said = "; ".join(
            f"{said.person or 'somebody'} {said.words}"
            for line in row.lines
            for said in line.said
        )
        return _("to be decided: {said}.").format(said=said)
    if not row.variance_base:
        return _("{words}, as on record.").format(words=_words(row, row.counted_base))
    more_or_less = _("more") if row.variance_base > 0 else _("less")
    cost = ""
    if row.variance_cost is not None:
        cost = f", {currency} {abs(row.variance_cost)}"
    counted, _other, variance = _compared(row, row.counted_base)
    return _("{counted}, {variance} {more_or_less} than on record{cost}.").format(
        counted=counted, variance=variance, more_or_less=more_or_less, cost=cost
    )


def _compared(row: ReviewRow, counted_base: Decimal) -> tuple[str, str, str]:
    """Return what was counted, what was on record and their difference."""
    if row.converter is not None:
        said = say_compared(counted_base, row.expected_base, row.converter)
        one, other, apart = (with_noun(words, row.converter) for words in said[:3])
        return one, other, apart
    bases = (counted_base, row.expected_base, abs(counted_base - row.expected_base))
    counted, recorded, variance = (_words(row, base) for base in bases)
    return counted, recorded, variance


def _words(row: ReviewRow, amount_base: Any) -> str:
    if row.converter is None:
        return f"{amount_base.normalize():f} {row.item.base_unit}"
    return amount_words(amount_base, row.converter)


def _posted(count_id: int, corrected: int, how: str) -> str:
    return _("Count {count_id} {how}. Items corrected: {corrected}.").format(
        count_id=count_id, how=how, corrected=corrected
    )
