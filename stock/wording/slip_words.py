"""The questions about an entry that looks like a slip, as people are asked them."""

from collections.abc import Sequence

from django.utils.translation import gettext as _


def meant_words(instead: str) -> str:
    """Return the question about another reading.

    >>> meant_words("30 eggs")
    'Did you mean 30 eggs?'
    """
    return _("Did you mean {instead}?").format(instead=instead)


def rest_elsewhere_words(on_record: str, places: Sequence[str]) -> str:
    """Return the question about places that are not counted yet."""
    return _(
        "That is less than the {on_record} on record. Is the rest in "
        "{places}, which is not counted yet?"
    ).format(on_record=on_record, places=" and ".join(places))


def nearly_empty_words(on_record: str) -> str:
    """Return the question about more than was due to be left."""
    return _(
        "It was due to be nearly empty: {on_record} on record. Look again?"
    ).format(on_record=on_record)


def far_off_words(on_record: str, entered: str) -> str:
    """Return the question about what is far from the record."""
    return _("The record says {on_record}. Is it {entered}?").format(
        on_record=on_record, entered=entered
    )
