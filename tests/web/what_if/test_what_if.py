"""What if shows both plans side by side, and stores nothing."""

import re
from datetime import timedelta
from html import unescape

import pytest

from planning.models import PlannedCake
from stock.models import Supplier
from tests import build
from tests.build import MONDAY
from tests.web.what_if.trying import (
    ADDRESS,
    FRIDAY,
    SATURDAY,
    figures,
    link_in,
    tried,
    two_tortes,
    words_of,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def test_before_anything_is_tried_the_page_offers_every_kind(signed_in):
    markup = unescape(signed_in.get(ADDRESS).content.decode())

    assert "What do you want to try?" in markup
    assert markup.count('name="change"') == 7
    assert "Side by side" not in markup


def test_a_cake_added_is_compared_with_the_real_plan(signed_in):
    markup = two_tortes(signed_in)

    # 1,000 - 400; with two more 200 are missing on Saturday, and a pack is ordered
    assert "W-1 is added: 2 \N{MULTIPLICATION SIGN} Torte, for Friday." in markup
    assert figures(markup, "Items that run out") == ["0", "1"]
    assert figures(markup, "Orders in all") == ["$0.00", "$9.99"]
    assert "Newly short, or shorter" in markup
    assert "Runs out Saturday, 200 g short." in markup
    assert '<summary>1</summary><ul class="plain"><li>Butter</li></ul>' in markup


def test_what_gets_shorter_says_by_how_much(signed_in):
    build.planned_cake(
        PlannedCake.objects.get().cake, due_on=SATURDAY, quantity=2, reference="T-2"
    )

    added = two_tortes(signed_in)
    tried(signed_in, "drop-cake", reference="W-1")
    less = tried(signed_in, "drop-cake", reference="T-1")

    # 1,200 of 1,000 g are used as it is, 2,000 with two more, 800 without T-1
    assert "1 kg short. That is 800 g more than as it is." in added
    assert "No longer short, or less" in less


def test_what_gets_short_carries_its_sum_and_its_chain(signed_in):
    markup = two_tortes(signed_in)

    chain = words_of(markup.partition('<table class="sum">')[2].partition("</ul>")[0])
    # Saturday begins with 1,000 - 800 and takes 400
    assert "Used Saturday 400 g" in chain
    assert "Less on hand when Saturday begins \N{MINUS SIGN} 200 g" in chain
    assert "Short 200 g" in chain
    assert "straight into T-1 Torte, due Saturday" in chain


def test_the_money_is_shown_order_by_order(signed_in):
    Supplier.objects.update(delivery_fee=5)

    markup = two_tortes(signed_in)

    orders = markup.partition("order by order</summary>")[2].partition("</table>")[0]
    assert "Dairy, Friday none $14.99 $9.99 + $5.00" in words_of(orders)
    assert figures(markup, "Orders in all") == ["$0.00", "$14.99"]


def test_nothing_is_stored_while_it_is_tried(signed_in):
    two_tortes(signed_in)
    tried(signed_in, "drop-cake", reference="T-1")

    assert list(PlannedCake.objects.values_list("reference", "status")) == [
        ("T-1", "confirmed")
    ]


def test_one_change_undoes_what_another_made_short(signed_in):
    two_tortes(signed_in)
    markup = tried(signed_in, "drop-cake", reference="t-1")

    assert figures(markup, "Items that run out") == ["0", "0"]
    assert "Nothing more and nothing less runs short, and every order stays." in (
        markup
    )
    assert "Orders that change" not in markup


def test_an_order_that_moves_because_a_delivery_is_dropped_is_said(signed_in):
    torte = PlannedCake.objects.get().cake
    build.planned_cake(torte, due_on=SATURDAY, quantity=3, reference="T-2")

    markup = tried(signed_in, "skip-delivery", supplier="Dairy", day=FRIDAY.isoformat())

    # 4 tortes take 1,600 of 1,000 g on Saturday in both plans; Friday's delivery
    # would be the last in time, else tomorrow's
    assert "Nothing more and nothing less runs short, because orders move." in markup
    moved = markup.split("<h3>Orders that change</h3>")[1].split("</ul>")[0]
    pack = "1 \N{MULTIPLICATION SIGN} pack of 1000 g"
    assert words_of(moved) == (
        f"Butter: {pack} from Dairy tomorrow, instead of {pack} from Dairy on Friday."
        " Order by today 2:00 pm, not Thu 2:00 pm."
    )


def test_an_order_that_is_no_longer_needed_is_said(signed_in):
    torte = PlannedCake.objects.get().cake
    build.planned_cake(torte, due_on=SATURDAY, quantity=3, reference="T-2")

    markup = tried(signed_in, "drop-cake", reference="T-2")

    moved = markup.split("<h3>Orders that change</h3>")[1].split("</ul>")[0]
    assert words_of(moved).startswith("Butter: no longer 1 ")


def test_less_on_hand_and_no_truck_leave_no_way_to_save_it(signed_in):
    tried(signed_in, "on-hand", item="butter", amount="100 g")
    for number in (1, 4):
        on = MONDAY + timedelta(days=number)
        markup = tried(signed_in, "skip-delivery", supplier="Dairy", day=on.isoformat())

    assert "Butter: 100 g on hand." in markup
    late = "Dairy is too late, Tue May 12, usable Wed May 13: buy 300 g elsewhere"
    assert late in markup


@pytest.fixture
def butter_for_friday():
    """Three tortes for Friday and no other cake; Dairy comes on Thursdays only."""
    Supplier.objects.update(delivery_days="Thu")
    torte = PlannedCake.objects.get()
    build.planned_cake(torte.cake, due_on=FRIDAY, quantity=3, reference="F-1")
    torte.delete()


@pytest.mark.usefixtures("butter_for_friday")
@pytest.mark.parametrize(
    ("kind", "entry"), [("skip-delivery", {"supplier": "Dairy"}), ("close-day", {})]
)
def test_what_no_delivery_saves_any_more_is_said_first(signed_in, kind, entry):
    thursday = (MONDAY + timedelta(days=3)).isoformat()

    markup = tried(signed_in, kind, day=thursday, **entry)

    # 3 tortes take 1,200 of 1,000 g in both plans; the next Thursday is too late
    assert figures(markup, "Items that run out") == ["1", "1"]
    assert figures(markup, "Items that no delivery saves") == ["0", "1"]
    row = markup.split(">Items that no delivery saves<")[1].split("</tr>")[0]
    assert '<summary>1</summary><ul class="plain"><li>Butter</li></ul>' in row
    lost = markup.split("<h3>Too late for any delivery</h3>")[1].split("</ul>")[0]
    assert "Butter 200 g to buy by hand, by Friday. For F-1" in words_of(lost)
    assert "Nothing more and nothing less" not in markup


def changes_of(browser):
    return [words for _, words in browser.get(ADDRESS).context["changes"]]


def test_the_quantity_on_hand_is_called_so(signed_in):
    markup = unescape(signed_in.get(ADDRESS).content.decode())

    form = markup.partition('id="on-hand"')[2].partition("</form>")[0]
    assert "Quantity" in words_of(form)
    assert "Amount" not in words_of(form)


@pytest.mark.parametrize(
    ("kind", "first", "second", "kept"),
    [
        (
            "on-hand",
            {"item": "butter", "amount": "20 kg"},
            {"item": "Butter", "amount": "300 g"},
            "Butter: 300 g on hand.",
        ),
        (
            "move-cake",
            {"reference": "T-1", "due": FRIDAY.isoformat()},
            {"reference": "t-1", "due": "2026-05-10"},
            "T-1 is moved from Saturday to Sunday.",
        ),
        (
            "add-cake",
            {"reference": "W-1", "cake": "Torte", "due": "2026-05-08", "quantity": "2"},
            {"reference": "W-1", "cake": "Torte", "due": "2026-05-08", "quantity": "5"},
            "W-1 is added: 5 \N{MULTIPLICATION SIGN} Torte, for Friday.",
        ),
        (
            "price",
            {"supplier": "Dairy", "item": "butter", "price": "12.50"},
            {"supplier": "Dairy", "item": "butter", "price": "8"},
            "of butter from Dairy: $8.00.",
        ),
        ("drop-cake", {"reference": "T-1"}, {"reference": "T-1"}, "T-1 is cancelled."),
        ("close-day", {"day": "2026-05-08"}, {"day": "2026-05-08"}, "Closed: Friday."),
    ],
)
def test_a_second_change_of_the_same_takes_the_place_of_the_first(
    signed_in, kind, first, second, kept
):
    tried(signed_in, kind, **first)
    tried(signed_in, "close-day", day="2026-05-12")

    tried(signed_in, kind, **second)

    said = [words.replace("\N{NO-BREAK SPACE}", " ") for words in changes_of(signed_in)]
    assert len(said) == 2
    assert said[0].endswith(kept)
    assert said[1] == "Closed: Tue May 12."


def test_changes_of_two_items_both_count(signed_in):
    build.item("salt", on_hand_base=100)
    tried(signed_in, "on-hand", item="butter", amount="2 kg")
    tried(signed_in, "on-hand", item="salt", amount="1 kg")

    assert changes_of(signed_in) == ["Butter: 2 kg on hand.", "Salt: 1 kg on hand."]


@pytest.mark.usefixtures("butter_for_friday")
def test_what_is_lost_already_says_how_much_more_is(signed_in):
    Supplier.objects.update(closed_on=(MONDAY + timedelta(days=3)).isoformat())

    more = words_of(tried(signed_in, "on-hand", item="butter", amount="900 g"))
    less = words_of(tried(signed_in, "on-hand", item="butter", amount="1200 g"))

    # of 1,200 g 200 are missing as it is, 300 with less, none with more
    assert "300 g to buy by hand, by Friday. That is 100 g more" in more
    assert "No longer to buy by hand, or less of it" not in more
    assert (
        "No longer to buy by hand, or less of it Butter As it is: 200 g to buy" in less
    )
    assert "Too late for any delivery" not in less


def test_a_price_changes_what_the_orders_cost(signed_in):
    two_tortes(signed_in)
    markup = tried(signed_in, "price", supplier="Dairy", item="butter", price="12.50")

    assert figures(markup, "Goods") == ["$0.00", "$12.50"]


def test_queries_do_not_grow_with_the_changes(signed_in, django_assert_max_num_queries):
    two_tortes(signed_in)
    # one of them for each list of what gets short, or no longer does
    with django_assert_max_num_queries(16):
        signed_in.get(ADDRESS)

    for number in range(5, 10):
        tried(signed_in, "close-day", day=f"2026-05-{number:02}")
        tried(signed_in, "on-hand", item="butter", amount=f"{number} lb")
    with django_assert_max_num_queries(16):
        signed_in.get(ADDRESS)


def test_the_answer_to_can_we_take_it_opens_it_with_that_cake(signed_in):
    asked = {"cake": "Torte", "due": FRIDAY.isoformat(), "quantity": "2", "size": ""}
    answer = signed_in.get("/can-we-take-it/", asked).content.decode()

    markup = signed_in.get(link_in(answer, "See the whole plan with it"))
    markup = markup.content.decode()

    opened = markup.split('<details class="trial" id="add-cake" open>')[1]
    opened = opened.split("</details>")[0]
    assert '<option value="Torte" selected>' in opened
    assert f'value="{FRIDAY.isoformat()}"' in opened
    assert re.search(r'name="add-cake-quantity"[^>]* value="2"', opened)
    assert "field-error" not in opened
    assert markup.count(" open>") == 1


def test_a_link_that_names_no_change_opens_nothing(signed_in):
    markup = signed_in.get(f"{ADDRESS}?change=anything&reference=T-1").content.decode()

    assert " open>" not in markup
    assert 'value="T-1"' not in markup.split("<datalist")[0]


def test_items_that_move_together_are_said_once_with_the_earlier_cut_off(signed_in):
    dairy = Supplier.objects.get(name="Dairy")
    cream, milk = build.item("cream"), build.item("milk")
    for item in (cream, milk):
        build.pack(item, dairy, size_base=1_000)
    build.planned_cake(
        build.cake("Roll", lines=[(cream, 500), (milk, 500)]), due_on=SATURDAY
    )

    markup = tried(signed_in, "skip-delivery", supplier="Dairy", day=FRIDAY.isoformat())

    moved = words_of(markup.split("Orders that change")[1].split("</ul>")[0])
    assert moved.count("instead of from Dairy on Friday") == 1
    assert "cream (1" in moved.lower()
    assert "milk (1" in moved
    assert "Order by today 2:00 pm, not Thu 2:00 pm." in moved
