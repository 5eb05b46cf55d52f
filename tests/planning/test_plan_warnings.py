"""How each warning of a plan is said."""

from dataclasses import replace
from datetime import date, datetime
from typing import get_args
from zoneinfo import ZoneInfo

import pytest

from planning.engine.kitchen import NodeKind
from planning.engine.plan_warnings import (
    MadeLate,
    MadeTooEarly,
    NotCounted,
    NoUseBy,
    OverdueCake,
    OverdueOrder,
    PartLeftOver,
    PlanWarning,
    RetiredNeeded,
    StockUnknownBefore,
    WhyNot,
)
from planning.sentences.plan_warnings import warnings_words
from planning.sentences.teller import Teller, sentence
from tests.engine import shelves

MON = date(2026, 5, 4)
NEW_YORK = ZoneInfo("America/New_York")
BUTTER, CURD = 0, 1
KITCHEN = shelves.kitchen(
    shelves.items({"name": "butter"}, {"name": "curd"}),
    suppliers=[shelves.supplier("Mill")],
)


class InGrams:
    def content(self, node, amount_base):
        return f"{amount_base:g} g of node {node}"


def said(warning):
    [sentence] = warnings_words([warning], Teller(KITCHEN, InGrams()))
    return sentence


def test_a_cake_that_was_due_before_the_plan():
    assert said(OverdueCake("A-17", CURD, date(2026, 5, 1))) == (
        "A-17 (curd) was due on Fri May 1, before this plan begins, and is left "
        "out. Mark it as baked or cancelled, or give it a new day."
    )


@pytest.mark.parametrize(("days", "words"), [(1, "1 day"), (2, "2 days")])
def test_what_should_have_been_made_before_the_plan(days, words):
    assert said(MadeLate(CURD, days, MON)) == (
        f"Curd should have been made {words} before this plan begins; now planned for "
        "Mon May 4, and so late. Make it first, or give its cakes a later day."
    )


def test_what_is_made_before_it_can_keep():
    assert said(MadeTooEarly(CURD, date(2026, 5, 6), date(2026, 5, 9), 2)) == (
        "Curd: made on Wed May 6 to keep 2 days, but needed on Sat May 9. Check its "
        "lead time and how long it keeps."
    )


def test_a_made_lot_without_a_use_by_date():
    assert said(NoUseBy(CURD)) == (
        "Curd: a lot in stock has no use-by date, so the plan takes it to keep for "
        "ever. Enter its use-by date."
    )


def test_what_is_left_over_is_said_in_the_words_of_its_item():
    assert said(PartLeftOver(CURD, MON, 100.0)) == (
        "Curd: use or freeze 100 g of node 1 left over on Mon May 4."
    )


@pytest.mark.parametrize(
    ("kind", "rest"),
    [
        (
            NodeKind.BOUGHT,
            ", and neither watched nor ordered. Remove it from its recipes, or bring "
            "it back on its page.",
        ),
        (NodeKind.MADE, ". Remove it from the recipes, or bring it back on its page."),
        (
            NodeKind.CAKE,
            ". Bring it back on its page, or cancel what is planned of it.",
        ),
    ],
)
def test_something_retired_that_is_still_needed(kind, rest):
    assert said(RetiredNeeded(CURD, kind, MON)) == (
        f"Curd: retired, but needed from Mon May 4 on{rest}"
    )


def test_an_open_order_that_should_have_come():
    assert said(OverdueOrder("O-1", 0, BUTTER, date(2026, 5, 2), 2)) == (
        "Butter: order O-1 from Mill was due on Sat May 2, late by 2 days. It isn't "
        "counted until it is received or gets a new day."
    )


PAST = NotCounted(
    "D-1",
    is_approved=True,
    supplier=0,
    deliver_on=date(2026, 5, 6),
    why=WhyNot.PAST_CUT_OFF,
    cut_off=datetime(2026, 5, 3, 14, tzinfo=NEW_YORK),
)


def test_an_approved_order_past_its_cut_off_is_marked_as_sent():
    assert said(PAST) == (
        "Approved order D-1, from Mill for Wed May 6, was not sent by its cut-off, "
        "Sun May 3, 2:00 pm. The plan does not count on it. If it was sent, mark it "
        "as sent; else cancel it."
    )


def test_a_draft_past_its_cut_off_is_approved_before_it_is_marked_as_sent():
    sentence = said(replace(PAST, is_approved=False))

    assert sentence.startswith("Draft D-1 (changed by hand), from Mill for Wed May 6,")
    assert sentence.endswith(
        "If it was sent, approve it and mark it as sent; else cancel it."
    )


@pytest.mark.parametrize(
    ("why", "rest"),
    [
        (WhyNot.SHOPPING_LIST, "is a shopping list: the plan does not count on it."),
        (WhyNot.NEVER_SENT, "was never sent. The plan does not count on it."),
        (
            WhyNot.NO_DELIVERY,
            "cannot come: no delivery is possible that day. The plan does not count on "
            "it.",
        ),
        (
            WhyNot.NOT_SOLD,
            "asks for a pack that is sold no more. The plan does not count on that "
            "line.",
        ),
    ],
)
def test_a_decided_order_that_cannot_come_says_why(why, rest):
    assert said(replace(PAST, why=why, cut_off=None)) == (
        f"Approved order D-1, from Mill for Wed May 6, {rest}"
    )


def test_stock_that_nobody_knows_of_at_the_moment_of_the_plan():
    first_at = datetime(2026, 5, 4, 9, 5, tzinfo=NEW_YORK)

    assert said(StockUnknownBefore(first_at)) == (
        "Stock is known only from 2026-05-04 09:05 on; the plan takes it as having "
        "stood there before."
    )


@pytest.mark.parametrize("braces", ["{day}", "50% {", "}{"])
def test_names_are_said_as_they_are(braces):
    nodes = shelves.items({"name": braces})
    kitchen = replace(KITCHEN, nodes=nodes)

    [sentence] = warnings_words([NoUseBy(0)], Teller(kitchen, InGrams()))

    assert sentence.startswith(f"{braces}: a lot in stock")


@pytest.mark.parametrize("kind", get_args(PlanWarning))
def test_every_kind_of_warning_has_its_sentence(kind):
    assert sentence.dispatch(kind) is not sentence.dispatch(object)
