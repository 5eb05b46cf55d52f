"""A count is opened, and its sheets filled in: on the page, on paper, with tares."""

from datetime import timedelta
from uuid import UUID

import pytest

from stock.counts import counting
from stock.counts.tares import keep_tare
from stock.models import Bakery, Count, CountEntry, Item, Tare
from tests import build
from tests.build import NOON
from tests.stock import counts
from tests.web.counts.sending import entry, said, send, send_page, sheet_url
from tests.web.reading import as_shown

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def test_a_count_starts_at_the_first_place_as_of_now(signed_in, walk_in):
    response = signed_in.post("/count/", {"places": [walk_in.pk]}, follow=True)

    count = Count.objects.get()
    assert response.redirect_chain == [(f"/count/{count.pk}/{walk_in.pk}/", 302)]
    assert count.counted_at == NOON
    assert count.opened_by.username == "ada"


def test_a_moment_ahead_is_refused_beside_the_form(signed_in, walk_in):
    form = {"places": [walk_in.pk], "counted_at": "2026-05-05T09:00"}

    response = signed_in.post("/count/", form)

    assert not Count.objects.exists()
    assert "cannot lie ahead" in response.content.decode()


def test_a_place_that_is_being_counted_cannot_be_counted_twice(signed_in, count):
    response = signed_in.get("/count/")

    assert "Every place is being counted" in response.content.decode()
    assert "Counting walk-in" in response.content.decode()


def test_what_is_on_record_stays_hidden_until_the_entry_is_in(signed_in, count):
    before = signed_in.get(sheet_url(count)).context["lines"][0].echo
    send_page(signed_in, count, butter="2 case 5 st")
    after = signed_in.get(sheet_url(count)).context["lines"][0].echo

    assert before == ""
    # 2 cases and 5 sticks of 100 g are 20,500 g
    assert after == "2 cases + 5 sticks = 20.5 kg. On record 2 cases."


def test_a_page_without_scripts_keeps_what_it_can_read(signed_in, count, butter):
    build.item("sugar", place=butter.place)

    response = send_page(signed_in, count, butter="2 cases", sugar="3 boxes")

    by_name = {line.name: line for line in response.context["lines"]}
    assert CountEntry.objects.get().text == "2 cases"
    assert by_name["sugar"].text == "3 boxes"
    assert "boxes" in by_name["sugar"].problem
    assert by_name["butter"].problem == ""


def test_a_line_that_the_page_did_not_change_sends_nothing(signed_in, count):
    send_page(signed_in, count, butter="2 cases")

    response = send_page(signed_in, count, butter="2 cases")

    assert CountEntry.objects.count() == 1
    assert said(response) == ["Nothing was changed. All 1 counted."]


def test_a_likely_slip_is_asked_about_and_one_tap_takes_the_other_reading(
    signed_in, count
):
    asked = send_page(signed_in, count, butter="2 sticks")
    slip = asked.context["lines"][0].slip
    send_page(
        signed_in, count, answer=f"line-{slip_item()}=instead=={slip.instead.text}"
    )

    assert slip.sentence == "Did you mean 2 cases?"
    newest = CountEntry.objects.order_by("-pk")[0]
    assert newest.amount_base == 20_000
    assert not newest.confirmed


def test_one_tap_says_that_it_is_as_entered(signed_in, count):
    asked = send_page(signed_in, count, butter="2 sticks")
    slip = asked.context["lines"][0].slip
    send_page(signed_in, count, answer=f"line-{slip_item()}=so={slip.kind}=2 sticks")

    newest = CountEntry.objects.order_by("-pk")[0]
    assert (newest.amount_base, newest.asked, newest.confirmed) == (200, "pack", True)


def slip_item():
    return CountEntry.objects.order_by("pk")[0].item_id


def test_something_found_is_added_on_the_spot(signed_in, count, walk_in):
    build.item("vanilla", measure="volume")

    send_page(
        signed_in,
        count,
        **{"extra-item": "Vanilla", "extra-amount": "2 cups", "extra-use-by": ""},
    )

    lines = signed_in.get(sheet_url(count)).context["lines"]
    assert [line.name for line in lines] == ["butter", "vanilla"]


def test_something_found_that_is_no_item_says_so(signed_in, count):
    response = send_page(
        signed_in, count, **{"extra-item": "vanila", "extra-amount": "2 cups"}
    )

    assert "No item is called" in response.context["extra"].problem
    assert response.context["extra"].amount == "2 cups"


def test_made_components_have_a_line_for_each_use_by(signed_in, walk_in):
    filling = build.item("lemon curd", kind="made", place=walk_in, keeps_days=7)
    for days in (1, 4):
        use_by = NOON.date() + timedelta(days=days)
        build.stock(filling, 500, place=walk_in, use_by=use_by)
    count = counting.open_count(counted_at=NOON, at=NOON)

    lines = signed_in.get(sheet_url(count)).context["lines"]

    assert [line.lot_words for line in lines] == ["use by tomorrow", "use by Friday"]


@pytest.mark.parametrize("moment", ["2025-11-02T01:30", "2026-03-08T02:30"])
def test_a_moment_that_the_clock_shows_twice_or_never_is_asked_for_anew(
    signed_in, walk_in, moment
):
    """In New York the hour from one was there twice, the hour from two was not."""
    Bakery.objects.update_or_create(defaults={"time_zone": "America/New_York"})

    page = signed_in.post("/count/", {"places": [walk_in.pk], "counted_at": moment})

    assert page.context["form"].errors["counted_at"] == [
        "The clock was changed then: this time was there twice, or not at all. Write "
        "one that is an hour earlier or later."
    ]


def test_a_count_that_nobody_closed_says_for_how_long_it_is_open(signed_in, walk_in):
    nine_days_ago = NOON - timedelta(days=9)
    counting.open_count(counted_at=nine_days_ago, at=nine_days_ago)

    page = signed_in.get("/count/").content.decode()

    assert "Open for 9 days: post it, or discard it and start anew." in page


def test_a_paper_sheet_is_typed_in_by_its_codes(signed_in, count):
    paper = signed_in.get(f"/count/{count.pk}/paper/")
    [line] = paper.context["places"][0]["lines"]
    form = {"key": UUID(int=7), "lines": f"{line.code} 2 cases\n\n"}

    for _ in range(2):
        signed_in.post(f"/count/{count.pk}/type-in/", form)

    assert line.units == "case, stick, lb"
    assert [entry.text for entry in CountEntry.objects.all()] == ["2 cases"]


def test_a_typed_sheet_with_a_wrong_code_keeps_nothing(signed_in, count):
    [line] = counting.sheets(count.pk)[0].lines
    wrong = line.line.code.replace(line.line.code[-1], "?")
    form = {"key": UUID(int=7), "lines": f"{line.line.code} 2 cases\n{wrong} 3 cases"}

    response = signed_in.post(f"/count/{count.pk}/type-in/", form)

    assert not CountEntry.objects.exists()
    assert f"Line 2: no line has the code {wrong}." in response.content.decode()


def typed_in(browser, count, lines, *, key=7, **chosen):
    form = {"key": UUID(int=key), "lines": lines} | chosen
    return browser.post(f"/count/{count.pk}/type-in/", form, follow=True)


def question(response):
    """The field that asks which figure of a line stands, and its values."""
    fields = response.context["form"].fields
    [name] = [name for name in fields if name.startswith("twice-")]
    return name, [value for value, _ in fields[name].choices]


@pytest.mark.parametrize(
    ("chosen", "amount_base"), [(0, 20_000), (1, 30_000), (2, 50_000)]
)
def test_a_line_that_is_typed_twice_shows_both_and_asks(
    signed_in, count, chosen, amount_base
):
    code = counting.sheets(count.pk)[0].lines[0].line.code
    lines = f"{code} 2 cases\n{code} 3 cases"

    name, values = question(typed_in(signed_in, count, lines))
    assert values == ["2 cases", "3 cases", "2 cases + 3 cases"]
    assert not CountEntry.objects.exists()
    for _ in range(2):  # sent again, it is one entry all the same
        typed_in(signed_in, count, lines, **{name: values[chosen]})

    assert [entry.amount_base for entry in CountEntry.objects.all()] == [amount_base]


def test_what_was_entered_before_is_replaced_only_by_who_says_so(signed_in, count):
    code = counting.sheets(count.pk)[0].lines[0].line.code
    typed_in(signed_in, count, f"{code} 2 cases")

    name, values = question(typed_in(signed_in, count, f"{code} 3 cases", key=8))

    assert values == ["3 cases", "2 cases", "3 cases + 2 cases"]
    assert CountEntry.objects.count() == 1
    typed_in(signed_in, count, f"{code} 3 cases", key=8, **{name: "3 cases"})
    assert counts.counted(count) == {
        (count.places.get().pk, Item.objects.get().pk): 30_000
    }


def test_a_number_without_a_unit_is_said_back_with_it(signed_in, count):
    code = counting.sheets(count.pk)[0].lines[0].line.code

    response = typed_in(signed_in, count, f"{code} 12")

    assert "Numbers without a unit were read as: butter 12 stick." in said(response)


def test_a_stored_tare_is_taken_off_what_the_scale_shows(signed_in, count, butter):
    tare = {"name": "bin", "weight": "2.5 kg", "place": count.places.get().pk}
    signed_in.post("/count/tares/", tare)

    [answer] = send(signed_in, entry(count, butter, "12.5 kg - bin"))

    assert answer["words"] == "1 case"


def test_a_tare_that_weighs_nothing_is_refused_beside_its_field(signed_in, db):
    form = {"name": "bin", "weight": "0 lb", "place": ""}

    response = signed_in.post("/count/tares/", form)

    assert "an empty bin weighs something" in response.content.decode()


def test_what_cannot_be_a_tare_s_name_is_said_beside_it(signed_in, db):
    form = {"name": "2 = 3", "weight": "2 lb", "place": ""}

    errors = signed_in.post("/count/tares/", form).context["form"].errors

    assert errors == {
        "name": [
            'The word "2 = 3" cannot be used: write a word of letters, such as bin.'
        ]
    }


def test_a_removed_tare_is_gone(signed_in, db):
    signed_in.post("/count/tares/", {"name": "bin", "weight": "2 lb", "place": ""})
    tare = Tare.objects.get()

    signed_in.post(f"/count/tares/{tare.pk}/remove/", as_shown(tare))

    assert not Tare.objects.exists()


def test_a_tare_is_given_another_weight_only_by_who_has_seen_the_first(signed_in, db):
    form = {"name": "bin", "weight": "2 lb", "place": ""}
    signed_in.post("/count/tares/", form)

    asked = signed_in.post("/count/tares/", form | {"name": "Bin", "weight": "3 lb"})

    said = "An empty bin weighs 2 lb here already. Store it again to make it 3 lb."
    assert said in asked.content.decode()
    assert Tare.objects.get().weight == "2 lb"
    again = {field.html_name: field.value() or "" for field in asked.context["form"]}
    assert (again["name"], again["weight"]) == ("Bin", "3 lb")
    signed_in.post("/count/tares/", again)
    assert Tare.objects.get().weight == "3 lb"


def test_a_tare_that_was_given_another_weight_is_not_removed(signed_in, db):
    tare = keep_tare(name="bin", weight="2 lb")
    shown = as_shown(tare)
    keep_tare(name="bin", weight="3 lb")

    page = signed_in.post(f"/count/tares/{tare.pk}/remove/", shown, follow=True)

    assert "changed after you opened it" in page.content.decode()
    assert "3 lb" in page.content.decode()
    assert Tare.objects.exists()


def test_a_sheet_asks_the_same_few_questions_of_the_database_whatever_its_length(
    signed_in, count, walk_in, django_assert_max_num_queries
):
    for _ in range(30):
        build.item(place=walk_in)

    with django_assert_max_num_queries(24):
        signed_in.get(sheet_url(count))


def found(name, **typed):
    return {"extra-item": name, "extra-amount": "2 cups", **typed}


def test_a_lot_code_that_is_too_long_costs_no_line(signed_in, count, butter):
    build.item("vanilla", measure="volume")

    response = send_page(
        signed_in,
        count,
        butter="2 cases",
        **found("vanilla", **{"extra-lot": "L" * 121}),
    )

    assert "Write at most 120 letters" in response.context["extra"].problem
    assert [each.text for each in CountEntry.objects.all()] == ["2 cases"]


def test_what_was_found_is_known_in_any_case(signed_in, count):
    build.item("crème brûlée mix", measure="volume")

    send_page(signed_in, count, **found("CRÈME BRÛLÉE MIX"))

    assert CountEntry.objects.get().item.name == "crème brûlée mix"


def test_a_form_whose_hidden_key_is_broken_does_not_blame_the_date(signed_in, count):
    build.item("vanilla", measure="volume")

    response = send_page(signed_in, count, **found("vanilla", **{"extra-key": "x"}))

    assert "sent incomplete" in response.context["extra"].problem


@pytest.mark.parametrize("use_by", ["0026-12-24", "9999-12-31"])
def test_a_use_by_that_nobody_can_mean_is_refused_on_the_page(signed_in, count, use_by):
    build.item("vanilla", measure="volume")

    response = send_page(
        signed_in, count, **found("vanilla", **{"extra-use-by": use_by})
    )

    assert response.context["extra"].problem == (
        f"Use by: {use_by} is too far away. Write a year from 1990 to 2189."
    )
    assert response.context["extra"].use_by == use_by
    assert not CountEntry.objects.exists()


def test_a_phone_is_told_of_a_use_by_that_nobody_can_mean(signed_in, count, butter):
    sent = entry(count, butter, "1 c", use_by="9999-12-31")

    [answer] = send(signed_in, sent)

    assert (answer["outcome"], answer["sentence"]) == (
        "refused",
        "9999-12-31 is too far away. Write a year from 1990 to 2189.",
    )


def test_a_count_as_of_a_year_that_nobody_can_mean_is_refused(signed_in, walk_in):
    typed = {"places": [walk_in.pk], "counted_at": "0026-12-24T10:00"}

    response = signed_in.post("/count/", typed)

    assert "0026-12-24 is too far away." in response.content.decode()
    assert not Count.objects.exists()
