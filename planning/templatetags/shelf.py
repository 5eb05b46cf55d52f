"""The shelf line and its figures as template filters."""

from django import template
from django.utils.safestring import SafeString

from planning.web.shelf.shelf_days import Amount, ShelfLine
from planning.web.shelf.shelf_labels import amount_words, span_words
from planning.web.shelf.shelf_line import draw

register = template.Library()


@register.filter
def shelf_line(line: ShelfLine, size: str) -> SafeString:
    """Return the picture of an item's days, in the size row, item or print."""
    return draw(line, size)


@register.filter
def shelf_span(line: ShelfLine) -> str:
    """Return from when to when the days run."""
    return span_words(line)


@register.filter
def bare_amount(amount_base: Amount) -> str:
    """Return a base amount without its unit, which the table's caption names."""
    return amount_words(amount_base, "")
