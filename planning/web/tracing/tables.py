"""The table of a trace: one row a link."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import django_tables2 as tables
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy as _

from planning.tracing.trace import Link, LinkKind
from planning.wording.trace_words import source_words, target_words
from stock.measures.conversion import Converter
from stock.templatetags.words import full_day_words
from stock.web.amounts import Amount, tap_for_base


@dataclass(frozen=True, slots=True)
class LinkRow:
    """One link in words."""

    source: str
    target: str
    amount: Amount
    day: str
    source_url: str | None
    target_url: str | None


class LinksTable(tables.Table):
    """Where lots came from, or what they went into, the nearest first."""

    source = tables.Column(_("From"), linkify=lambda record: record.source_url)
    target = tables.Column(_("To"), linkify=lambda record: record.target_url)
    amount = tables.Column(_("Quantity"))
    day = tables.Column(_("Day"), attrs={"td": {"class": "day"}})

    class Meta:
        orderable = False

    def __init__(self, rows: Iterable[LinkRow], *, caption: str) -> None:
        super().__init__(list(rows))
        self.caption = caption

    def render_amount(self, value: Amount) -> SafeString:
        """Return how much it was, the base figure one tap away."""
        return tap_for_base(value.words, value)


def link_rows(
    links: Iterable[Link], known: Mapping[int, Converter]
) -> Iterable[LinkRow]:
    """Yield links as rows of the table."""
    today = timezone.localdate()
    for link in links:
        yield LinkRow(
            source=source_words(link),
            target=target_words(link),
            amount=Amount(link.amount_base, known[link.lot.item_id]),
            day=full_day_words(link.on, today) if link.on else "",
            source_url=_source_url(link),
            target_url=_target_url(link),
        )


def _source_url(link: Link) -> str | None:
    if link.delivery is not None:
        return reverse("planning:order", args=[link.delivery.order_id])
    if link.kind is LinkKind.MADE:
        return _bake_url(link)
    return None if link.kind is LinkKind.FOUND else _lot_url(link)


def _target_url(link: Link) -> str | None:
    if link.kind is LinkKind.USED:
        return _bake_url(link)
    return None if link.kind is LinkKind.GONE else _lot_url(link)


def _lot_url(link: Link) -> str:
    return reverse("stock:lot", args=[link.lot.pk])


def _bake_url(link: Link) -> str | None:
    """Return the page of a baked cake; batches have none that stays."""
    if link.bake is None or link.bake.planned_cake_id is None:
        return None
    return reverse("planning:planned_cake", args=[link.bake.planned_cake_id])
