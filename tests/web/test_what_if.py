"""What if shows both plans side by side; accepted changes go through their jobs."""

import re
from datetime import timedelta
from decimal import Decimal
from html import unescape

import pytest
from django.utils import timezone

from planning.models import PlannedCake
from stock.models import Bakery, Movement, Pack, Supplier
from tests import build
from tests.build import MONDAY, NOON

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

ADDRESS = "/what-if/"
FRIDAY, SATURDAY = MONDAY + timedelta(days=4), MONDAY + timedelta(days=5)


@pytest.fixture(autouse=True)
def kitchen():
    """1,000 g of butter; a torte takes 400. One is planned for Saturday."""
    build.bakery(time_zone="UTC")
    butter = build.item("butter", on_hand_base=1_000)
    build.pack(butter, build.supplier("Dairy"), size_base=1_000, price="9.99")
    torte = build.cake("Torte", lines=[(butter, 400)])
    build.planned_cake(torte, due_on=SATURDAY, reference="T-1")
    return torte


def tried(browser, kind, **entry):
    sent = {"change": kind, **{f"{kind}-{name}": text for name, text in entry.items()}}
    response = browser.post(ADDRESS, sent, follow=True)
    assert response.status_code == 200
    return " ".join(unescape(response.content.decode()).split())


def two_tortes(browser):
    return tried(
        browser,
        "add-cake",
        reference="W-1",
        cake="Torte",
        due=FRIDAY.isoformat(),
        quantity="2",
        size="",
    )


def words_of(markup):
    return " ".join(re.sub(r"<[^>]+>", " ", markup).split())


def figures(markup, name):
    """The two cells of a row of the table."""
    row = markup.split(f">{name}<")[1].split("</tr>")[0]
    cells = row.partition("/th>")[2].split("</td>")[:-1]
    return [words_of(cell.partition("</summary>")[0]) for cell in cells]


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
    assert '<summary>1</summary><ul class="plain"><li>butter</li></ul>' in markup


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
    assert "Less what is there when Saturday begins \N{MINUS SIGN} 200 g" in chain
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
    assert "Nothing more and nothing less runs short." in markup


def test_less_on_hand_and_no_truck_leave_no_way_to_save_it(signed_in):
    tried(signed_in, "on-hand", item="butter", amount="100 g")
    for number in (1, 4):
        on = MONDAY + timedelta(days=number)
        markup = tried(signed_in, "skip-delivery", supplier="Dairy", day=on.isoformat())

    assert "Butter: 100 g on hand." in markup
    assert "Too late for any delivery" in markup


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
    assert '<summary>1</summary><ul class="plain"><li>butter</li></ul>' in row
    lost = markup.split("<h3>No delivery saves any more</h3>")[1].split("</ul>")[0]
    assert "butter 200 g to be got by hand, by Friday. For F-1" in words_of(lost)
    assert "Nothing more and nothing less" not in markup


@pytest.mark.usefixtures("butter_for_friday")
def test_what_is_lost_already_says_how_much_more_is(signed_in):
    Supplier.objects.update(closed_on=(MONDAY + timedelta(days=3)).isoformat())

    more = words_of(tried(signed_in, "on-hand", item="butter", amount="900 g"))
    less = words_of(tried(signed_in, "on-hand", item="butter", amount="1200 g"))

    # of 1,200 g 200 are missing as it is, 300 with less, none with more
    assert "300 g to be got by hand, by Friday. That is 100 g more" in more
    assert "A delivery can save again" not in more
    assert "A delivery can save again butter As it is: 200 g to be got" in less
    assert "No delivery saves any more" not in less


def test_a_price_changes_what_the_orders_cost(signed_in):
    two_tortes(signed_in)
    markup = tried(signed_in, "price", supplier="Dairy", item="butter", price="12.50")

    assert figures(markup, "Goods") == ["$0.00", "$12.50"]


@pytest.mark.parametrize(
    ("kind", "entry", "column", "words"),
    [
        ("drop-cake", {"reference": "X"}, "reference", "No cake on the plan"),
        ("drop-cake", {"reference": ""}, "reference", "must not stay blank"),
        ("move-cake", {"reference": "T-1", "due": "soon"}, "due", "is no date"),
        ("on-hand", {"item": "salt", "amount": "1 lb"}, "item", "There is no item"),
        ("on-hand", {"item": "butter", "amount": "1 cup"}, "amount", "cup"),
        ("on-hand", {"item": "butter", "amount": "much"}, "amount", "much"),
        ("close-day", {"day": ""}, "day", "must not stay blank"),
        ("skip-delivery", {"supplier": "X", "day": "2026-05-05"}, "supplier", "no sup"),
        ("price", {"supplier": "Dairy", "item": "butter", "price": "-1"}, "price", ""),
        ("move-cake", {"reference": "T-1", "due": "2026-05-03"}, "due", "is over"),
        # the furthest that a plan looks from May 4 on is 366 days: to May 4
        (
            "move-cake",
            {"reference": "T-1", "due": "2027-05-05"},
            "due",
            "up to 2027-05-",
        ),
        ("close-day", {"day": "2026-05-03"}, "day", "2026-05-03 is over."),
        # May 1 was a Friday
        ("skip-delivery", {"supplier": "Dairy", "day": "2026-05-01"}, "day", "is over"),
        (
            "skip-delivery",
            {"supplier": "Dairy", "day": "2026-05-06"},
            "day",
            "2026-05-06 is a Wednesday: Dairy delivers on Tuesday and Friday only.",
        ),
    ],
)
def test_what_is_wrong_stands_beside_its_field(signed_in, kind, entry, column, words):
    markup = tried(signed_in, kind, **entry)

    error = markup.split(f'id="id_{kind}-{column}_error"')[1].split("</div>")[0]
    assert words in error
    assert "Side by side" not in markup


@pytest.mark.parametrize(
    ("kind", "entry", "words"),
    [
        ("skip-delivery", {"supplier": "Dairy"}, "Dairy is closed tomorrow"),
        ("close-day", {}, "The bakery is closed tomorrow"),
    ],
)
def test_no_delivery_is_dropped_on_a_closed_day(signed_in, kind, entry, words):
    tuesday = (MONDAY + timedelta(days=1)).isoformat()
    tried(signed_in, kind, day=tuesday, **entry)

    markup = tried(signed_in, "skip-delivery", supplier="Dairy", day=tuesday)

    error = markup.split('id="id_skip-delivery-day_error"')[1].split("</div>")[0]
    assert f"{words}: there is no delivery to drop." in error


def test_what_is_on_order_is_dropped_on_whatever_day_it_comes(signed_in):
    wednesday = MONDAY + timedelta(days=2)
    pack = Pack.objects.get()
    build.order(pack.supplier, deliver_on=wednesday, lines=[(pack, 1)])

    markup = tried(
        signed_in, "skip-delivery", supplier="Dairy", day=wednesday.isoformat()
    )

    assert "No delivery of Dairy: Wednesday." in markup


def test_a_change_that_waited_until_its_day_was_over_is_no_more(signed_in, monkeypatch):
    tried(signed_in, "close-day", day=MONDAY.isoformat())
    monkeypatch.setattr(timezone, "now", lambda: NOON + timedelta(days=1))

    markup = unescape(signed_in.get(f"{ADDRESS}review/").content.decode())

    over = markup.partition("What cannot be any more")[2]
    assert "2026-05-04 is over. Try a day from today on." in over


@pytest.mark.parametrize(
    ("changes", "column", "words"),
    [
        ({"reference": "t-1"}, "reference", "on the plan already"),
        ({"cake": "Gateau"}, "cake", "There is no cake"),
        ({"size": "huge"}, "size", "is no size"),
        ({"quantity": "0"}, "quantity", "1 or more"),
        ({"due": "2026-05-03"}, "due", "nothing can be baked for it any more"),
    ],
)
def test_a_cake_that_cannot_be_added_says_why(signed_in, changes, column, words):
    entry = {
        "reference": "W-1",
        "cake": "Torte",
        "due": FRIDAY.isoformat(),
        "quantity": "1",
        "size": "",
    }
    markup = tried(signed_in, "add-cake", **entry | changes)

    error = markup.split(f'id="id_add-cake-{column}_error"')[1].split("</div>")[0]
    assert words in error


def test_a_change_is_taken_back_or_all_are_thrown_away(signed_in):
    two_tortes(signed_in)
    tried(signed_in, "close-day", day=FRIDAY.isoformat())

    one_back = signed_in.post(f"{ADDRESS}take-back/", {"which": "0"}, follow=True)
    none_left = signed_in.post(f"{ADDRESS}take-back/", {"which": "all"}, follow=True)

    assert "W-1" not in one_back.content.decode()
    assert "Closed: Friday." in one_back.content.decode()
    assert "Side by side" not in none_left.content.decode()


def test_the_review_says_what_is_made_and_what_is_not(signed_in):
    two_tortes(signed_in)
    tried(signed_in, "on-hand", item="butter", amount="100 g")

    markup = unescape(signed_in.get(f"{ADDRESS}review/").content.decode())

    made, left = markup.split("What is not made from here")
    assert "W-1 is added" in made
    assert "Butter: 100 g on hand." in left


def test_accepted_every_change_goes_through_its_job(signed_in):
    two_tortes(signed_in)
    tried(signed_in, "move-cake", reference="T-1", due=FRIDAY.isoformat())
    tried(signed_in, "close-day", day="2026-05-11")
    tried(signed_in, "skip-delivery", supplier="dairy", day="2026-05-05")
    tried(signed_in, "price", supplier="Dairy", item="butter", price="12.50")
    tried(signed_in, "on-hand", item="butter", amount="100 g")
    moves = Movement.objects.count()

    response = signed_in.post(f"{ADDRESS}accept/", follow=True)

    rows = PlannedCake.objects.order_by("reference")
    assert list(rows.values_list("reference", "due_on", "status")) == [
        ("T-1", FRIDAY, "confirmed"),
        ("W-1", FRIDAY, "tentative"),
    ]
    assert Bakery.objects.get().closed_on == "2026-05-11"
    assert Supplier.objects.get().closed_on == "2026-05-05"
    assert Pack.objects.get().price == Decimal("12.50")
    assert Movement.objects.count() == moves
    markup = unescape(response.content.decode())
    assert "5 changes are made." in markup
    assert "100 g on hand" in markup  # goes on waiting


def test_a_dropped_cake_is_cancelled(signed_in):
    tried(signed_in, "drop-cake", reference="T-1")

    signed_in.post(f"{ADDRESS}accept/")

    assert PlannedCake.objects.get().status == "cancelled"


def test_the_review_says_from_which_day_a_cake_is_moved(signed_in):
    tried(signed_in, "move-cake", reference="t-1", due=FRIDAY.isoformat())
    tried(signed_in, "move-cake", reference="T-1", due=MONDAY.isoformat())

    markup = unescape(signed_in.get(f"{ADDRESS}review/").content.decode())

    assert "T-1 is moved from Saturday to Friday." in markup
    assert "T-1 is moved from Friday to today." in markup
    signed_in.post(f"{ADDRESS}accept/")
    assert PlannedCake.objects.get().due_on == MONDAY


def test_a_cake_that_somebody_moved_meanwhile_is_not_moved_again(signed_in):
    tried(signed_in, "move-cake", reference="T-1", due=FRIDAY.isoformat())
    thursday = MONDAY + timedelta(days=3)
    PlannedCake.objects.update(due_on=thursday)

    response = signed_in.post(f"{ADDRESS}accept/", follow=True)

    assert (
        "Nothing was changed. T-1 was due on Saturday when this move was tried, and is "
        "due on Thursday now." in unescape(response.content.decode())
    )
    assert PlannedCake.objects.get().due_on == thursday


def test_the_day_a_cake_is_moved_from_is_not_typed(signed_in):
    assert "was_due" not in signed_in.get(ADDRESS).content.decode()


def test_a_delivery_is_dropped_however_the_supplier_is_spelled(signed_in):
    Supplier.objects.update(name="Ölmühle")
    tried(signed_in, "skip-delivery", supplier="ÖLMÜHLE", day="2026-05-05")

    signed_in.post(f"{ADDRESS}accept/")

    assert Supplier.objects.get().closed_on == "2026-05-05"


def test_what_is_dropped_is_neither_dropped_nor_moved_again(signed_in):
    tried(signed_in, "drop-cake", reference="T-1")

    dropped = tried(signed_in, "drop-cake", reference="t-1")
    moved = tried(signed_in, "move-cake", reference="T-1", due=FRIDAY.isoformat())

    assert dropped.count("T-1 is dropped.") == 1
    assert "No cake on the plan is called t-1." in dropped
    assert "T-1 is moved" not in moved
    assert "No cake on the plan is called T-1." in moved


def test_so_many_cakes_are_said_in_figures(signed_in):
    markup = tried(
        signed_in,
        "add-cake",
        reference="W-1",
        cake="Torte",
        due=FRIDAY.isoformat(),
        quantity="1234567",
        size="",
    )

    times = "\N{MULTIPLICATION SIGN}"
    assert f"W-1 is added: 1,234,567 {times} Torte, for Friday." in markup


def test_where_nothing_waits_nothing_is_said_to_be_made(signed_in):
    review = unescape(signed_in.get(f"{ADDRESS}review/").content.decode())
    accepted = signed_in.post(f"{ADDRESS}accept/", follow=True).content.decode()

    assert "They are made all together" not in review
    assert "No change waits to be accepted." in review
    assert "No change waits to be accepted." in accepted
    assert "0 changes" not in accepted


def test_what_can_be_no_more_is_said_and_nothing_is_made(signed_in):
    two_tortes(signed_in)
    tried(signed_in, "drop-cake", reference="T-1")
    PlannedCake.objects.all().delete()

    markup = unescape(signed_in.get(ADDRESS).content.decode())
    response = signed_in.post(f"{ADDRESS}accept/", follow=True)

    assert "No cake on the plan is called T-1." in markup
    assert "Nothing was changed." in unescape(response.content.decode())
    assert not PlannedCake.objects.exists()


@pytest.mark.parametrize("page", ["accept", "take-back"])
def test_looking_changes_nothing(signed_in, page):
    assert signed_in.get(f"{ADDRESS}{page}/").status_code == 405


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


def link_in(markup, words):
    """Where a link leads, by what it says."""
    return unescape(re.search(rf'href="([^"]*)">{words}</a>', markup)[1])


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
