"""A label scanned at the door finds its line, and one pack of it has come."""

import pytest

from planning.models import Delivery, DeliveryLine, Order
from stock.ledger.levels import lots_on_hand
from stock.ledger.verifying import verify_ledger
from stock.models import Pack
from tests import build
from tests.web.orders.pages import page, post, text
from tests.web.reading import as_shown

pytestmark = pytest.mark.django_db

BUTTER = "12345678901231"
CREAM = "00416000336108"
LABEL = f"01{BUTTER}17260601{'10AB12'}"


@pytest.fixture
def order(mill):
    """Three cases of butter, whose bar code is known, and two of cream."""
    walk_in = build.place("walk-in")
    butter = build.item("butter", place=walk_in)
    cream = build.item("cream", place=walk_in, minimum_days_left=5)
    case = build.pack(butter, mill, label="case 36 x 1 lb", called="case", gtin=BUTTER)
    box = build.pack(cream, mill, label="12 x 1 qt", called="box")
    return build.order(mill, reference="2026-004", lines=[(case, 3), (box, 2)])


@pytest.fixture
def line(order):
    return order.lines.get(pack__called="case")


@pytest.fixture
def box(order):
    return order.lines.get(pack__called="box")


def scan(site, order, label="", key="k", **sent):
    return post(site, "scan_label", order.pk, label=label, key=key, **sent)


def came():
    assert verify_ledger().is_whole
    rows = DeliveryLine.objects.filter(delivery__undone_at=None).order_by("pk")
    lots = rows.values_list("line__pack__item__name", "packs", "lot__code")
    return list(lots)


def test_a_scan_brings_one_pack_with_its_lot_and_date(site, order):
    shown = text(scan(site, order, LABEL))

    assert (
        "Butter: 1 case received, lot AB12, use by Mon Jun 1, 2026. "
        "2 cases are to come." in shown
    )
    (lot,) = lots_on_hand()
    assert (lot.code, lot.use_by.isoformat(), lot.amount_base) == (
        "AB12",
        "2026-06-01",
        1_000,
    )


def test_a_second_lot_is_a_lot_of_its_own(site, order):
    scan(site, order, LABEL, key="a")
    scan(site, order, LABEL.replace("AB12", "AB13"), key="b")
    shown = text(scan(site, order, LABEL, key="c"))

    assert "All came." in shown
    assert came() == [
        ("butter", 1, "AB12"),
        ("butter", 1, "AB13"),
        ("butter", 1, "AB12"),
    ]


def test_after_a_scan_the_rest_of_the_lot_is_one_tap_away(site, order, line):
    shown = scan(site, order, LABEL).content.decode()

    assert 'value="AB12"' in shown
    assert 'value="2026-06-01"' in shown
    assert f'name="line_{line.pk}-packs" value="2"' in shown


def test_the_same_label_sent_twice_from_one_page_counts_once(site, order):
    scan(site, order, LABEL)
    shown = text(scan(site, order, LABEL))

    assert "Sent twice, counted once." in shown
    assert came() == [("butter", 1, "AB12")]


def test_two_labels_sent_from_one_page_both_count(site, order):
    scan(site, order, LABEL)
    scan(site, order, LABEL.replace("AB12", "AB13"))

    assert [lot for _, _, lot in came()] == ["AB12", "AB13"]


def test_two_people_scan_the_same_order_from_pages_of_their_own(site, order, client):
    scan(site, order, LABEL, key="rosa")
    client.force_login(build.user("sam"))

    shown = text(scan(client, order, LABEL, key="sam"))

    assert "1 case is to come." in shown
    assert len(came()) == 2


def test_an_undone_scan_that_is_sent_again_is_not_said_to_have_come(site, order):
    scan(site, order, LABEL)
    undone = Delivery.objects.get()
    post(site, "undo_delivery", order.pk, undone.pk, **as_shown(order))

    assert "this scan was undone since" in text(scan(site, order, LABEL))
    assert came() == []


def test_a_new_bar_code_is_tied_to_a_line_once(site, order, box):
    label = f"01{CREAM}172606011" + "0C7"
    asked = text(scan(site, order, label))
    assert "Bar code 416000336108 is new. Choose its line once." in asked
    assert "Cream, 12 x 1 qt" in asked
    assert came() == []

    tied = text(scan(site, order, earlier=label, line=str(box.pk), key="a"))
    again = text(scan(site, order, label, key="b"))

    assert "Bar code 416000336108 is cream, 12 x 1 qt, from now on." in tied
    assert "Cream: 1 box received, lot C7" in tied
    assert "All came." in again
    assert Pack.objects.get(pk=box.pack_id).gtin == "416000336108"


def test_a_line_keeps_its_own_bar_code_when_another_is_chosen_for_it(site, order, line):
    shown = text(scan(site, order, earlier=f"01{CREAM}10C7", line=str(line.pk)))

    assert "butter, case 36 x 1 lb, keeps its bar code 12345678901231." in shown
    assert "Butter: 1 case received, lot C7" in shown
    assert Pack.objects.get(pk=line.pack_id).gtin == BUTTER


def test_a_label_of_another_item_is_said_and_brings_nothing(site, order, mill):
    sugar = build.pack(
        build.item("sugar"), build.supplier("Corner shop"), label="bag", gtin=CREAM
    )

    shown = text(scan(site, order, f"01{CREAM}10C7"))

    assert "Sugar, bag from Corner shop, is not on this order." in shown
    assert sugar.gtin == CREAM
    assert came() == []


def test_more_than_is_to_come_is_said_and_brings_nothing(site, order):
    for key in "abc":
        scan(site, order, LABEL, key=key)

    assert "Butter: all 3 cases came already." in text(
        scan(site, order, LABEL, key="d")
    )
    assert len(came()) == 3


def test_the_last_scan_of_an_order_ends_at_the_order(site, order, box):
    box.pack.gtin = CREAM
    box.pack.save()
    for key in "abc":
        scan(site, order, LABEL, key=key)
    scan(site, order, f"01{CREAM}10C7", key="d")

    scan(site, order, f"01{CREAM}10C7", key="e")
    late = scan(site, order, f"01{CREAM}10C7", key="f")

    assert Order.objects.get(pk=order.pk).state == "received"
    assert late.redirect_chain[-1][0] == f"/orders/{order.pk}/"
    assert len(came()) == 5


def test_two_bar_codes_of_one_case_are_one_label(site, order):
    first = scan(site, order, BUTTER)
    assert "Butter found; this bar code has no lot or date." in text(first)
    assert f'name="earlier" value="{BUTTER}"' in first.content.decode()
    assert came() == []

    second = text(scan(site, order, "]C110AB12\x1d17260601", earlier=BUTTER, key="b"))

    assert "Butter: 1 case received, lot AB12, use by Mon Jun 1, 2026." in second


def test_a_lot_without_an_item_asks_for_the_line(site, order, line):
    asked = text(scan(site, order, "]C110AB12\x1d17260601"))
    assert "Lot AB12, use by Mon Jun 1, 2026. Scan the case's other bar code" in asked

    shown = scan(
        site, order, earlier="]C110AB12\x1d17260601", line=str(line.pk), key="b"
    )

    assert "Butter: 1 case received, lot AB12" in text(shown)


def test_what_is_not_sure_opens_the_line_with_what_is(site, order, line):
    shown = scan(site, order, f"01{BUTTER}17270231" + "10AB12")

    assert "use by date, 270231, doesn't exist. Type it from the label." in text(shown)
    assert 'value="AB12"' in shown.content.decode()
    assert came() == []


def test_a_label_that_cannot_be_read_stays_in_the_field(site, order):
    shown = scan(site, order, "12345678901232")

    assert "its check digit is wrong. Scan it again." in text(shown)
    assert 'value="12345678901232"' in shown.content.decode()
    assert came() == []


def test_what_the_door_asks_is_asked_of_a_scan_too(site, order, box):
    box.pack.gtin = CREAM
    box.pack.save()

    asked = scan(site, order, f"01{CREAM}1726050510C7")
    shown = text(asked)

    assert "use by Tue May 5 leaves 2 days, and it needs 5 days." in shown
    assert "Yes, it is so" in shown
    assert 'value="C7"' in asked.content.decode()
    assert came() == []


def test_a_label_that_has_passed_is_refused(site, order):
    shown = text(scan(site, order, LABEL.replace("260601", "260503")))

    assert "use by Sun May 3 has passed" in shown
    assert came() == []


def test_the_weight_on_a_label_is_said_beside_what_the_pack_counts(site, order):
    shown = text(scan(site, order, f"01{BUTTER}3202001230" + "10AB12"))

    assert "The label says 12.3 lb; on hand counts 1000 g a pack." in shown


def test_nothing_scanned_is_asked_for(site, order):
    assert "Scan a label first." in text(scan(site, order, " "))


def test_the_day_on_which_it_came_goes_with_every_scan(site, order):
    shown = scan(site, order, LABEL, on="2026-05-02")

    assert Delivery.objects.get().received_on.isoformat() == "2026-05-02"
    assert 'name="on" value="2026-05-02"' in shown.content.decode()


def test_the_door_has_the_field(site, order):
    assert "Scan a label" in page(site, "receive_order", order.pk)


def test_scans_in_a_row_are_one_row_of_the_order_each_undone_by_itself(site, order):
    other = LABEL.replace("AB12", "AB13")
    for key, label in [("a", LABEL), ("b", other)]:
        scan(site, order, label, key=key)

    shown = page(site, "order", order.pk)
    assert "Received today noon by Rosa: 2 cases of butter, 2 lots." in shown
    assert shown.count("Undo") == 2
    assert shown.partition("History")[2].count("Part received today noon by Rosa") == 1

    second = Delivery.objects.get(lines__lot__code="AB13")
    order.refresh_from_db()
    undone = post(site, "undo_delivery", order.pk, second.pk, version=order.version)

    assert came() == [("butter", 1, "AB12")]
    assert "Undone today noon by Rosa" in text(undone)
    assert "2 cases of butter, 2 lots" not in text(undone)
    assert "Changed" not in text(undone).partition("History")[2]


def test_scans_of_two_people_are_two_rows(site, order, client):
    for key in "ab":
        scan(site, order, LABEL, key=key)
    client.force_login(build.user("sam"))
    scan(client, order, LABEL, key="c")

    shown = page(site, "order", order.pk)

    assert "by Rosa: 2 cases of butter, 1 lot." in shown
    assert "Today noon by sam: 1 case of butter." in shown


def test_an_order_leads_to_its_trace_once_something_came(site, order):
    address, trace = f"/orders/{order.pk}/", f'href="/trace/order/{order.pk}/"'
    before = site.get(address).content.decode()

    scan(site, order, LABEL)

    assert trace not in before
    assert trace in site.get(address).content.decode()
