"""Prove that what is on hand is the sum of what moved."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from stock.ledger import verifying
from stock.management.plain_command import PlainCommand

COUNT_AGAIN = gettext_noop(
    "The sums are right, the figures may not be. Count these shelves again."
)


class Command(PlainCommand):
    help = gettext_noop(
        "Proves that every balance is the sum of its movements and that the database "
        "refuses changes to the ledger, and that no figure overlooked another for "
        "the same shelf. Says so in one sentence, or lists what is wrong and exits "
        "with 2. Changes nothing without --rebuild."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--rebuild",
            action="store_true",
            help=_("first work the balances out anew from the movements"),
        )

    def handle(self, *, rebuild: bool, **_options: Any) -> None:
        if rebuild:
            balances = verifying.rebuild()
            self.stdout.write(
                _("Balances worked out anew: {balances}.").format(balances=balances)
            )
        verdict = verifying.verify_ledger()
        if not verdict.is_whole:
            for complaint in _complaints(verdict):
                self.stderr.write(complaint, lambda text: text)
            raise CommandError(
                _("The ledger is not whole. {remedy}").format(remedy=_remedy(verdict))
            )
        if verdict.added_up:
            for added_up in verdict.added_up:
                self.stderr.write(str(added_up), lambda text: text)
            raise CommandError(COUNT_AGAIN)
        self.stdout.write(
            _(
                "The ledger is whole: {balances} balances are the sums of "
                "{movements} movements."
            ).format(balances=verdict.balances, movements=verdict.movements)
        )


def _complaints(verdict: verifying.Verdict) -> list[str]:
    complaints = [str(wrong) for wrong in verdict.wrong]
    if verdict.movements_of_another_item:
        complaints.append(
            _(
                "Movements that carry a lot of another item: "
                "{movements_of_another_item}."
            ).format(movements_of_another_item=verdict.movements_of_another_item)
        )
    if verdict.stray_movements:
        complaints.append(
            _(
                "Movements of an item, a place or a lot that is not there: "
                "{stray_movements}."
            ).format(stray_movements=verdict.stray_movements)
        )
    if verdict.missing_triggers:
        complaints.append(
            _(
                "Nothing stops a change to the ledger; missing in the database: "
                "{missing_triggers}."
            ).format(missing_triggers=", ".join(verdict.missing_triggers))
        )
    return complaints


def _remedy(verdict: verifying.Verdict) -> str:
    if verdict.movements_of_another_item or verdict.stray_movements:
        return _("Restore the database from a backup.")
    if verdict.wrong and verdict.missing_triggers:
        return _(
            "Movements may have been changed: compare them with a backup. Only if they "
            "are right: python manage.py verify_ledger --rebuild"
        )
    return _("To put it right: python manage.py verify_ledger --rebuild")
