"""What a revision changes on an order, beside its line."""

from django.utils.translation import gettext as _

from planning.engine.kitchen import PackTerms
from planning.sentences.packs import counted_packs


def changed_packs(pack: PackTerms, was: int, now: int) -> str:
    """Return how a line was changed: was 3 cases, now 5; "" where it was not."""
    if was == now:
        return ""
    if not was:
        return _("added")
    if not now:
        return _("removed, was {was}").format(was=counted_packs(pack, was))
    return _("was {was}, now {now}").format(
        was=counted_packs(pack, was), now=f"{now:,}"
    )


def replaced_words(reference: str, revision: int) -> str:
    """Return what a revision replaces: 2026-004, or 2026-004, revision 1."""
    if not revision:
        return reference
    return _("{reference}, revision {number}").format(
        reference=reference, number=revision
    )
