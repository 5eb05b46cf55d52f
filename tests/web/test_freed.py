"""What a cancelled, smaller or later cake frees is said before and after."""

from datetime import timedelta

import pytest

from planning.models import Order, PlannedCake
from planning.orders.drafting import draft_what_is_needed
from planning.orders.orders import Hand, approve_order
from stock.models import Pack
from tests import build
from tests.build import MONDAY, NOON
from tests.web.reading import as_shown, page, told

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

THURSDAY, FRIDAY, SATURDAY = (MONDAY + timedelta(days=days) for days in (3, 4, 5))
NOTHING = "It frees nothing that is made, drafted or ordered."
LEFT_OVER = (
    "Strawberries: {} of PO-1, sent already, will be left over, {} of it because of "
    "this change, use by Sunday."
)


@pytest.fixture
def berry_cake():
    """A kilogram of strawberries is on order for Thursday, and keeps until Sunday.

    Friday's cake takes 300 g; on Saturday two are due that take 250 g each.
    """
    berries = build.item("strawberries", keeps_days=4)
    farm = build.supplier("Farm", delivery_days="Thu", usable_next_day=False)
    pack = build.pack(berries, farm, size_base=1_000)
    build.order(farm, deliver_on=THURSDAY, reference="PO-1", lines=[(pack, 1)])
    tart = build.cake("Tart", lines=[(berries, 300)])
    build.planned_cake(tart, due_on=FRIDAY, reference="F-1")
    sheet = build.cake("Sheet cake", base_size="8 in round x 3", lines=[(berries, 250)])
    return build.planned_cake(sheet, due_on=SATURDAY, quantity=2, reference="S-1")


def cancel_page(browser, planned):
    return page(browser, f"/bake-plan/{planned.pk}/cancel/")


def cancelled(browser, planned):
    address = f"/bake-plan/{planned.pk}/status/"
    sent = {"status": "cancelled"} | as_shown(planned)
    return told(browser, browser.post(address, sent))


def entry_of(planned, **changes):
    return {
        **as_shown(planned),
        "cake": planned.cake.item.name,
        "due": planned.due_on.isoformat(),
        "due_time": "",
        "quantity": str(planned.quantity),
        "size": planned.size,
        "reference": planned.reference,
        "status": "confirmed",
        "note": "",
        **changes,
    }


def test_cancelling_says_what_a_sent_order_leaves_over(signed_in, berry_cake):
    # 1,000 g come and 800 are used: 200 are left anyway, and Saturday's 500 too
    words = LEFT_OVER.format("700 g", "500 g")

    assert words in cancel_page(signed_in, berry_cake)
    assert cancelled(signed_in, berry_cake) == ["S-1 is cancelled now.", words]
    assert "no plan asks for anything for it" in page(
        signed_in, f"/bake-plan/{berry_cake.pk}/"
    )


@pytest.mark.parametrize(
    ("changes", "left", "freed"),
    [
        ({"quantity": "1"}, "450 g", "250 g"),
        ({"due": (SATURDAY + timedelta(days=4)).isoformat()}, "700 g", "500 g"),
    ],
)
def test_a_smaller_or_later_cake_says_it_before_and_after(
    signed_in, berry_cake, changes, left, freed
):
    address = f"/bake-plan/{berry_cake.pk}/change/"
    entry, words = entry_of(berry_cake, **changes), LEFT_OVER.format(left, freed)

    asked = signed_in.post(address, entry)
    unchanged = PlannedCake.objects.get(pk=berry_cake.pk)
    saved = signed_in.post(address, {**entry, "freed_seen": "yes"})

    assert words in asked.content.decode().replace("\N{NO-BREAK SPACE}", " ")
    asked_page = asked.content.decode()
    assert asked_page.index("Not saved yet.") < asked_page.index("<h1>")
    assert asked_page.index("Save all the same") < asked_page.index('name="quantity"')
    assert (unchanged.quantity, unchanged.due_on) == (2, SATURDAY)
    assert words in told(signed_in, saved)


def test_what_somebody_saved_meanwhile_is_told_before_what_a_change_frees(
    signed_in, berry_cake
):
    address = f"/bake-plan/{berry_cake.pk}/change/"
    entry = entry_of(berry_cake, quantity="1")
    PlannedCake.objects.filter(pk=berry_cake.pk).update(note="blue", version=2)

    stale = signed_in.post(address, entry).content.decode()
    opened = as_shown(PlannedCake.objects.get(pk=berry_cake.pk))
    again = signed_in.post(address, entry | opened | {"note": "blue"})

    assert "Somebody saved this after you opened it." in stale
    assert "What this frees" not in stale
    assert "Not saved yet. See what this frees" not in stale
    assert "What this frees" in again.content.decode()
    assert PlannedCake.objects.get(pk=berry_cake.pk).quantity == 2


def test_what_is_left_of_an_order_is_the_whole_where_no_other_cake_uses_it(
    signed_in, berry_cake
):
    # Friday's 300 g of the 1,000 are not used either; next week's order is used up
    PlannedCake.objects.filter(reference="F-1").delete()
    pack = Pack.objects.get()
    build.order(
        pack.supplier,
        deliver_on=THURSDAY + timedelta(days=7),
        reference="PO-2",
        lines=[(pack, 1)],
    )
    build.planned_cake(
        berry_cake.cake, due_on=FRIDAY + timedelta(days=7), quantity=4, reference="S-2"
    )

    words = LEFT_OVER.format("1 kg", "500 g")
    shown = cancel_page(signed_in, berry_cake)
    assert words in shown
    assert "PO-2" not in shown


def test_all_of_an_order_that_only_this_cake_takes_is_one_figure(signed_in, berry_cake):
    PlannedCake.objects.filter(reference="F-1").delete()
    PlannedCake.objects.filter(reference="S-1").update(quantity=4)

    assert "of PO-1, sent already, will be left over, use by Sunday." in cancel_page(
        signed_in, PlannedCake.objects.get()
    )


def test_a_smaller_size_frees_what_scales_with_it(signed_in, berry_cake):
    line = berry_cake.cake.lines.get()
    line.scales_with = "volume"
    line.save()
    # 6 in round to 8 in round: (6/8) squared is 0.5625 of the layers; 500 - 281.25
    entry = entry_of(berry_cake, size="6 in round x 3")

    asked = signed_in.post(f"/bake-plan/{berry_cake.pk}/change/", entry)

    said = asked.content.decode().replace("\N{NO-BREAK SPACE}", " ")
    assert LEFT_OVER.format("419 g", "219 g") in said


def test_a_larger_or_earlier_cake_is_saved_at_once(signed_in, berry_cake):
    entry = entry_of(berry_cake, quantity="3", due=FRIDAY.isoformat())

    saved = signed_in.post(f"/bake-plan/{berry_cake.pk}/change/", entry)

    assert saved.status_code == 302
    assert [words for words in told(signed_in, saved) if "left over" in words] == []


def test_made_stock_that_nobody_takes_is_free(signed_in):
    curd = build.recipe("lemon curd", keeps_days=10)
    build.stock(curd.item, 400, use_by=FRIDAY)
    cake = build.cake("Lemon cake", lines=[(curd, 250)])
    planned = build.planned_cake(cake, due_on=FRIDAY, reference="L-1")

    assert "Lemon curd: 250 g made already is free, use by Friday." in cancel_page(
        signed_in, planned
    )


@pytest.mark.parametrize("is_approved", [False, True])
def test_an_order_not_sent_that_is_now_too_large_is_named(signed_in, is_approved):
    butter, dairy = build.item("butter"), build.supplier("Dairy")
    build.pack(butter, dairy, size_base=500, label="brick")
    cake = build.cake(lines=[(butter, 300)])
    planned, _ = (
        build.planned_cake(cake, due_on=SATURDAY, reference=name) for name in "AB"
    )
    kitchen = build.bakery(time_zone="UTC")
    draft_what_is_needed(bakery=kitchen, at=NOON)
    draft = Order.objects.get()
    if is_approved:
        approve_order(Hand(draft.pk, draft.version, at=NOON, by_id=None))

    # 600 g are two bricks, 300 g are one
    state = "approved" if is_approved else "draft"
    words = (
        f"{draft.reference} on Friday, {state}, asks for too much: butter, "
        "2 \N{MULTIPLICATION SIGN} brick; 1 is enough."
    )
    assert words in cancel_page(signed_in, planned)
    assert words in cancelled(signed_in, planned)


@pytest.mark.parametrize(
    ("size_base", "packs", "enough"), [(500, 2, "1 is enough"), (250, 3, "2 is enough")]
)
def test_a_draft_for_another_delivery_than_usual_is_named_too(
    signed_in, size_base, packs, enough
):
    # As best orders may have it: on Tuesday, in packs the usual rule would not buy.
    build.bakery(time_zone="UTC")
    butter, dairy = build.item("butter"), build.supplier("Dairy")
    usual = build.pack(butter, dairy, size_base=500, label="brick", preferred=True)
    tub = build.pack(butter, dairy, size_base=250, label="tub", price="9")
    pack = usual if size_base == 500 else tub
    cake = build.cake(lines=[(butter, 300)])
    planned, _ = (
        build.planned_cake(cake, due_on=SATURDAY, reference=name) for name in "AB"
    )
    build.order(
        dairy,
        reference="D-1",
        deliver_on=MONDAY + timedelta(days=1),
        state=Order.State.DRAFT,
        lines=[(pack, packs)],
    )

    words = (
        "D-1 tomorrow, draft, asks for too much: butter, "
        f"{packs} \N{MULTIPLICATION SIGN} {pack.label}; {enough}."
    )
    assert words in cancel_page(signed_in, planned)


def test_stock_that_goes_out_of_date_unused_is_said(signed_in):
    cream = build.item("cream")
    build.stock(cream, 900, use_by=SATURDAY)
    cake = build.cake(lines=[(cream, 600)])
    planned = build.planned_cake(cake, due_on=FRIDAY)

    assert "Cream: 600 g on hand will expire unused, use by Saturday." in cancel_page(
        signed_in, planned
    )


def test_what_is_on_hand_and_what_is_ordered_are_told_apart(signed_in):
    # 900 g on hand until Saturday, 1 kg to come that keeps beyond the plan. Friday's
    # cake takes 600 and Saturday's 500: 200 of the order. Without Friday's all of
    # Saturday's 500 are on hand: 400 go out of date, and the order keeps its 200.
    farm = build.supplier("Farm", delivery_days="Thu", usable_next_day=False)
    cream = build.item("cream", keeps_days=90)
    build.stock(cream, 900, use_by=SATURDAY)
    pack = build.pack(cream, farm, size_base=1_000)
    build.order(farm, deliver_on=THURSDAY, reference="PO-1", lines=[(pack, 1)])
    planned = build.planned_cake(build.cake(lines=[(cream, 600)]), due_on=FRIDAY)
    build.planned_cake(build.cake(lines=[(cream, 500)]), due_on=SATURDAY)

    shown = cancel_page(signed_in, planned)

    assert "Cream: 200 g of PO-1, sent already, will be left over, use by" in shown
    assert "Cream: 400 g on hand will expire unused" in shown


def test_what_only_moves_to_another_delivery_is_not_freed(signed_in):
    # The farm comes on Thursday and Saturday, and berries keep three days: both cakes
    # are served by Thursday's pack; without Friday's one, Saturday's is in time.
    farm = build.supplier("Farm", delivery_days="Thu Sat", usable_next_day=False)
    berries = build.item("berries", keeps_days=3)
    build.pack(berries, farm, size_base=1_000)
    cake = build.cake(lines=[(berries, 400)])
    planned = build.planned_cake(cake, due_on=FRIDAY)
    build.planned_cake(cake, due_on=SATURDAY)
    draft_what_is_needed(bakery=build.bakery(time_zone="UTC"), at=NOON)
    [draft] = Order.objects.all()

    assert draft.deliver_on == THURSDAY
    assert NOTHING in cancel_page(signed_in, planned)


def test_a_cake_that_frees_nothing_says_so(signed_in):
    flour = build.item("flour", on_hand_base=5_000)
    planned = build.planned_cake(build.cake(lines=[(flour, 600)]), due_on=FRIDAY)

    assert NOTHING in cancel_page(signed_in, planned)


def test_of_many_things_the_first_to_be_used_are_named(signed_in):
    farm = build.supplier("Farm", delivery_days="Thu", usable_next_day=False)
    items = [build.item(f"berry {n}", keeps_days=n) for n in range(4, 11)]
    packs = [build.pack(item, farm, size_base=100) for item in items]
    build.order(
        farm, deliver_on=THURSDAY, reference="PO-1", lines=[(p, 1) for p in packs]
    )
    cake = build.cake(lines=[(item, 100) for item in items])
    planned = build.planned_cake(cake, due_on=FRIDAY)

    shown = cancel_page(signed_in, planned)

    assert [n for n in range(4, 11) if f"Berry {n}:" in shown] == [4, 5, 6, 7, 8]
    assert "2 more of this kind." in shown


def test_what_is_beyond_three_is_folded_before_and_after(signed_in):
    curd = build.recipe("curd", keeps_days=10)
    build.stock(curd.item, 900, use_by=FRIDAY)
    creams = [build.item(f"cream {n}") for n in range(1, 5)]
    for cream in creams:
        build.stock(cream, 900, use_by=SATURDAY)
    lines = [(curd, 100), *((cream, 100) for cream in creams)]
    planned = build.planned_cake(build.cake(lines=lines), due_on=FRIDAY)

    before = signed_in.get(f"/bake-plan/{planned.pk}/cancel/").content.decode()
    address = f"/bake-plan/{planned.pk}/status/"
    sent = {"status": "cancelled"} | as_shown(planned)
    after = signed_in.post(address, sent, follow=True).content.decode()

    for markup in (before, after):
        seen, _, folded = markup.partition("<summary>2 more</summary>")
        named = [f"Cream {n}:" for n in range(1, 5)]
        assert [words in seen for words in ["Curd:", *named]] == [
            *[True] * 3,
            *[False] * 2,
        ]
        assert all(words in folded for words in named[2:])


def test_a_cake_that_is_not_planned_any_more_has_no_cancel_page(signed_in):
    planned = build.planned_cake(due_on=FRIDAY, status=PlannedCake.Status.CANCELLED)

    response = signed_in.get(f"/bake-plan/{planned.pk}/cancel/")

    assert response.url == f"/bake-plan/{planned.pk}/"
