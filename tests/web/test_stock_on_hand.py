from datetime import date, timedelta
from decimal import Decimal
from html import unescape

import pytest

from stock.ledger import levels
from stock.ledger.correcting import newest_movement
from stock.models import Movement
from stock.web.shelves import on_hand
from tests import build
from tests.build import MONDAY, NOON
from tests.on_hand import on_hand_base_by_item

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def butter():
    """20 lb of butter in the walk-in, in cases of 36 lb."""
    walk_in = build.place("walk-in")
    item = build.item("butter", place=walk_in)
    build.pack(item, holds="36 lb", size_base=36 * 453.59237, called="case")
    build.stock(item, "9071.8474", at=NOON - timedelta(days=3))
    return item


def send(browser, item, **typed):
    entry = {"place": "walk-in", "quantity": "", "use_by": "", "lot": "", "why": ""}
    entry["seen"] = newest_movement(item.pk)
    return browser.post(f"/shelves/{item.pk}/set/", entry | typed, follow=True)


def test_a_page_from_before_a_delivery_does_not_wipe_it(signed_in, butter):
    seen = newest_movement(butter.pk)
    send(signed_in, butter, quantity="10 lb", seen=seen)
    build.stock(butter, "453.5924", by=build.user("ben"), kind=Movement.Kind.RECEIVED)

    again = send(signed_in, butter, quantity="10 lb", seen=seen)

    assert on_hand_base_by_item() == {butter.pk: Decimal("4989.5161")}
    [fault] = again.context["form"].errors["quantity"]
    assert fault == (
        "Butter in walk-in has changed on record since this page was opened "
        "(received, ben). Compare, then enter what is there now."
    )
    shown = again.context["form"]["seen"].value()
    assert said(send(signed_in, butter, quantity="12 lb", seen=shown))[0] == (
        "walk-in: 12 lb on hand, 1 lb more than on record."
    )


@pytest.mark.parametrize("seen", ["", "x", "0"])
def test_a_page_that_saw_nothing_sets_nothing_that_has_moved(signed_in, butter, seen):
    send(signed_in, butter, quantity="10 lb", seen=seen)

    assert on_hand_base_by_item() == {butter.pk: Decimal("9071.8474")}


def test_a_delivery_that_comes_while_the_page_is_read_is_not_seen(
    signed_in, butter, monkeypatch
):
    read = on_hand._read

    def read_before_a_delivery(item):
        shelves = read(item)
        if Movement.objects.count() == 1:
            build.stock(butter, 100)
        return shelves

    monkeypatch.setattr(on_hand, "_read", read_before_a_delivery)
    shown = signed_in.get(f"/shelves/{butter.pk}/set/").context["form"]["seen"].value()

    send(signed_in, butter, quantity="20 lb", seen=shown)

    assert on_hand_base_by_item() == {butter.pk: Decimal("9171.8474")}


def test_the_same_figure_from_an_old_page_is_harmless(signed_in, butter):
    seen = newest_movement(butter.pk)
    send(signed_in, butter, quantity="10 lb", seen=seen)

    again = send(signed_in, butter, quantity="10 lb", seen=seen)

    assert "just as it was on record" in said(again)[0]


def said(response):
    messages = (str(message) for message in response.context["messages"])
    return [words.replace("\N{NO-BREAK SPACE}", " ") for words in messages]


def test_what_was_understood_and_the_difference_are_said(signed_in, butter):
    response = send(signed_in, butter, quantity="1 case + 6 lb", why="shelf was full")

    # 42 lb are 19,050.87954 g; 22 lb more than the 20 lb on record
    assert on_hand_base_by_item() == {butter.pk: Decimal("19050.8795")}
    assert said(response) == [
        "walk-in: 1 case + 6 lb on hand, 22 lb more than on record.",
        "Understood: 1 case = 16329.3253 g, through 1 case = 36 lb. "
        "6 lb = 2721.5542 g. Together 19050.8795 g.",
    ]
    assert response.redirect_chain == [(f"/shelves/{butter.pk}/", 302)]


def test_the_difference_is_written_down_with_who_and_why(signed_in, butter):
    send(signed_in, butter, quantity="10 lb", why="trimmed")

    correction = Movement.objects.get(kind=Movement.Kind.CORRECTED)
    assert correction.amount_base == Decimal("-4535.9237")
    assert correction.by.username == "ada"
    assert correction.note == "trimmed"
    assert correction.at == NOON


def test_the_same_again_changes_nothing_and_says_so(signed_in, butter):
    response = send(signed_in, butter, quantity="20 lb")

    assert "just as it was on record" in said(response)[0]
    assert Movement.objects.count() == 1


@pytest.mark.parametrize("typed", ["none", "None", "0", "0 lb"])
def test_nothing_left_can_be_said_in_a_word(signed_in, butter, typed):
    response = send(signed_in, butter, quantity=typed)

    assert on_hand_base_by_item() == {butter.pk: 0}
    assert said(response)[0] == "walk-in: none on hand, 20 lb less than on record."


def test_a_lot_and_its_date_are_kept(signed_in, butter):
    response = send(
        signed_in, butter, quantity="2 lb", use_by="2026-05-08", lot="B-417"
    )

    [_, lot] = sorted(levels.lots_on_hand(), key=lambda lot: lot.code)
    assert (lot.use_by, lot.code) == (date(2026, 5, 8), "B-417")
    assert said(response)[0].startswith("walk-in: 2 lb, by Friday on hand")
    assert said(response)[-1] == "Also there, as it was: walk-in: 20 lb."


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("quantity", "", "“What is there” must not stay blank."),
        ("quantity", "12", "could be 12 oz, 12 lb or 12 cases"),
        ("quantity", "4/5 lb", "could be 4 x 5 lb or ⅘ lb"),
        ("quantity", "2 crates", '"crates" isn\'t a unit of butter.'),
        ("quantity", "2 cups", "Enter the weight of one cup"),
        ("quantity", "-3 lb", "it cannot be negative"),
        ("quantity", "2,5 lb", "Did you mean 2 1/2 lb?"),
        ("quantity", "900000000 case", "more than"),
        ("use_by", "2026-02-30", "There is no 2026-02-30 in the calendar."),
        ("place", "garage", "'garage' is not known here."),
        ("lot", "x" * 121, "121 letters"),
    ],
)
def test_what_cannot_be_read_stands_beside_its_field_and_nothing_moves(
    signed_in, butter, field, typed, words
):
    response = send(signed_in, butter, **{"quantity": "1 lb", field: typed})

    assert list(response.context["form"].errors) == [field]
    assert words in response.context["form"].errors[field][0]
    assert typed in unescape(response.content.decode())
    assert Movement.objects.count() == 1


def test_the_form_starts_at_the_usual_place_or_where_it_was_asked_for(
    signed_in, butter
):
    freezer = build.place("freezer")

    usual = signed_in.get(f"/shelves/{butter.pk}/set/").content.decode()
    asked = signed_in.get(
        f"/shelves/{butter.pk}/set/?place={freezer.pk}&use_by={MONDAY}&lot=A%261"
    ).content.decode()

    assert '<option value="walk-in" selected>' in usual
    assert '<option value="freezer" selected>' in asked
    assert 'value="2026-05-04"' in asked
    assert 'value="A&amp;1"' in asked


def test_a_request_without_fields_is_a_form_that_is_still_to_be_filled_in(
    signed_in, butter
):
    response = signed_in.post(f"/shelves/{butter.pk}/set/")

    assert set(response.context["form"].errors) == {"place", "quantity"}
    assert Movement.objects.count() == 1


def test_the_form_starts_with_the_only_stock_on_record(signed_in):
    cream = build.item("cream", place=build.place("walk-in"))
    build.stock(cream, 100, use_by=MONDAY, lot="H-88", place=build.place("reach-in"))

    markup = signed_in.get(f"/shelves/{cream.pk}/set/").content.decode()

    assert '<option value="reach-in" selected>' in markup
    assert 'value="2026-05-04"' in markup
    assert 'value="H-88"' in markup


def test_what_is_on_record_is_shown_by_place_and_date_each_to_be_set(signed_in):
    cream = build.item("cream", place=build.place("walk-in"))
    for lot in ("A", "B"):
        build.stock(cream, 100, use_by=MONDAY, lot=lot)
    build.stock(cream, 700)

    markup = signed_in.get(f"/shelves/{cream.pk}/set/").content.decode()
    markup = markup.replace("\N{NO-BREAK SPACE}", " ")

    assert "walk-in: 200 g, by today." in markup
    assert "walk-in: 700 g." in markup
    assert markup.count("Set this") == 2


def test_each_lot_leads_to_the_form_that_sets_it(signed_in, butter):
    build.stock(butter, 100, use_by=MONDAY, lot="A&1")
    place_id = butter.place_id

    markup = signed_in.get(f"/shelves/{butter.pk}/").content.decode()

    assert (
        f"/shelves/{butter.pk}/set/?place={place_id}"
        "&amp;use_by=2026-05-04&amp;lot=A%261"
    ) in markup


def test_without_a_place_it_says_what_to_do_first(signed_in):
    salt = build.item("salt")

    markup = signed_in.get(f"/shelves/{salt.pk}/set/").content.decode()

    assert "There is no place to put it yet." in markup
    assert 'href="/shelves/places/add/"' in markup
