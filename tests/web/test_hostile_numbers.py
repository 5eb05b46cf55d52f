"""Numbers that no row can have, sent by somebody who tries: never an error page."""

import json
import re
import uuid
from datetime import timedelta

import pytest
from django.urls import NoReverseMatch, get_resolver, reverse
from django.utils import timezone

from planning.models import Order
from tests import build
from tests.build import NOON

pytestmark = pytest.mark.django_db

ALL_NINES = "9" * 20  # more than a column of ids holds
LONGEST = "9" * 5_000  # more than Python turns into a number


def addresses_with_ids():
    """Return every address of the site that names a row, one row each."""
    found = []
    for prefix in ("stock", "planning"):
        resolver = next(
            each
            for each in get_resolver().url_patterns
            if getattr(each, "namespace", None) == prefix
        )
        for pattern in resolver.url_patterns:
            names = re.findall(r"<row:(\w+)>", str(pattern.pattern))
            if names:
                found.append((f"{prefix}:{pattern.name}", pattern))
            assert "<int:" not in str(pattern.pattern), pattern
    return found


@pytest.mark.parametrize("digits", [ALL_NINES, LONGEST, "9" * 18])
def test_an_address_with_an_id_that_no_row_has_leads_nowhere(signed_in, digits):
    addresses = addresses_with_ids()
    assert len(addresses) > 40

    for name, pattern in addresses:
        converters = pattern.pattern.converters
        kwargs = {
            key: 7 if type(converter).__name__ == "RowIdConverter" else "x"
            for key, converter in converters.items()
        }
        try:
            address = reverse(name, kwargs=kwargs).replace("/7/", f"/{digits}/")
        except NoReverseMatch:
            continue  # a date or another word stands beside the id
        for method in (signed_in.get, signed_in.post):
            assert method(address).status_code in (302, 403, 404, 405), address


@pytest.mark.parametrize("version", [ALL_NINES, LONGEST, "-1", "٣", "²", "x", ""])
def test_an_order_is_not_changed_by_a_version_that_it_never_had(signed_in, version):
    pack = build.pack(build.item("flour"))
    row = build.order(
        pack.supplier,
        state=Order.State.DRAFT,
        deliver_on=timezone.now().date() + timedelta(days=30),
        lines=[(pack, 1)],
    )
    approve = reverse("planning:approve_order", args=[row.pk])

    answer = signed_in.post(approve, {"version": version})

    assert answer.status_code == 302
    row.refresh_from_db()
    assert row.state == Order.State.DRAFT
    signed_in.post(approve, {"version": row.version})
    row.refresh_from_db()
    assert row.state == Order.State.APPROVED


@pytest.mark.parametrize("seen", [ALL_NINES, LONGEST, "-1", "²", "x"])
def test_a_search_that_nobody_has_seen_replaces_none(signed_in, seen):
    build.dairy_kitchen()

    answer = signed_in.post(
        reverse("planning:start_order_search"), {"effort": "quick", "seen": seen}
    )

    assert answer.status_code in (200, 302)


@pytest.mark.parametrize(
    "body",
    [
        "[" * 100_000,
        '{"entries": ' + "[" * 100_000,
        '{"a":' * 100_000,
        '{"entries": [' + "[" * 400 + "]" * 400 + "]}",
    ],
)
def test_entries_nested_without_end_are_answered(signed_in, body):
    answer = signed_in.post(
        reverse("stock:count_entries"), body, content_type="application/json"
    )

    assert answer.status_code in (200, 400)
    assert answer["content-type"] == "application/json"


def test_an_entry_with_a_nested_key_is_refused_by_itself(signed_in):
    nested = {"key": [[["deep"]]], "count": 1}

    answer = signed_in.post(
        reverse("stock:count_entries"),
        json.dumps({"entries": [nested, {"key": str(uuid.uuid4())}]}),
        content_type="application/json",
    )

    told = answer.json()["answers"]
    assert [each["outcome"] for each in told] == ["refused", "refused"]
    assert told[0]["key"] == ""


def test_a_number_of_a_count_on_paper_may_be_too_long(signed_in):
    place = build.place()
    build.item("flour", place=place, on_hand_base=5, at=NOON)

    answer = signed_in.get(reverse("stock:counts"), {"count": LONGEST})

    assert answer.status_code == 200
