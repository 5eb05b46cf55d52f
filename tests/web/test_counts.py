import json
from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from uuid import UUID, uuid4

import pytest
from django.contrib.staticfiles import finders

from stock import counting, levels
from stock.correcting import OnHandRow, set_on_hand
from stock.models import Bakery, Count, CountEntry, Movement, Tare
from tests import build
from tests.build import NOON

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def walk_in():
    return build.place("walk-in")


@pytest.fixture
def butter(walk_in):
    """Two cases of 10 kg on record since yesterday, at 50 a case."""
    item = build.item("butter", place=walk_in, own_units="stick = 100 g")
    build.pack(item, holds="10 kg", size_base=10_000, called="case", price="50")
    build.stock(item, 20_000, place=walk_in, at=NOON - timedelta(days=1))
    return item


@pytest.fixture
def count(butter):
    return counting.open_count(counted_at=NOON, at=NOON)


def sheet_url(count):
    return f"/count/{count.pk}/{count.places.get().pk}/"


def send_page(browser, count, **typed):
    """Send the sheet as a browser without scripts does."""
    page = browser.get(sheet_url(count))
    form = {}
    for line in page.context["lines"]:
        form |= {line.id: line.text, f"{line.id}-was": line.was}
        form |= {f"{line.id}-key": line.form_key}
        form |= {line.id: typed[line.name]} if line.name in typed else {}
    extra = {key: text for key, text in typed.items() if key.startswith("extra")}
    extra |= {"answer": typed["answer"]} if "answer" in typed else {}
    return browser.post(sheet_url(count), form | extra, follow=True)


def entry(count, item, text, **fields):
    """An entry as a phone sends it."""
    return {
        "key": str(uuid4()),
        "count": count.pk,
        "place": count.places.get().pk,
        "item": item.pk,
        "text": text,
        "entered_at": NOON.isoformat(),
        "device": "phone",
        "sequence": 1,
        "by": None,
    } | fields


def send(browser, *entries):
    body = json.dumps({"entries": entries})
    response = browser.post("/count/entries/", body, content_type="application/json")
    return response.json()["answers"] if response.status_code == 200 else response


def said(response):
    return [str(message) for message in response.context["messages"]]


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
    assert after == "2 cases + 500 g. On record 2 cases."


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


def test_the_door_for_phones_answers_each_entry(signed_in, count, butter):
    good, unreadable = entry(count, butter, "2 c"), entry(count, butter, "2")

    answers = send(signed_in, good, unreadable, good)

    assert [answer["outcome"] for answer in answers] == ["taken", "kept", "taken"]
    assert answers[0]["words"] == "2 cases"
    assert "has no unit" in answers[1]["sentence"]
    assert CountEntry.objects.filter(kept="").count() == 1


@pytest.mark.parametrize(
    "fault",
    [
        {"key": "7"},
        {"item": "butter"},
        {"item": True},
        {"text": None},
        {"text": "2\0"},
        {"entered_at": "yesterday"},
        {"entered_at": "2026-05-04T12:00:00"},
        {"sequence": -1},
        {"understood_base": "many"},
        {"use_by": "2026-02-30"},
        {"key": 7},
        {"supersedes": 7},
        {"text": "2 c\ud800"},
        {"lot_code": "\ud800"},
        {"device": "\ud800"},
        {"asked": "\ud800"},
        {"entered_at": "0001-01-01T00:00:00+14:00"},
        {"entered_at": "9999-12-31T23:59:59-14:00"},
    ],
    ids=ascii,
)
def test_a_malformed_entry_is_refused_alone(signed_in, count, butter, fault):
    bad, good = entry(count, butter, "1 c") | fault, entry(count, butter, "2 c")

    answers = send(signed_in, bad, good)

    by_key = {answer["key"]: answer["outcome"] for answer in answers}
    assert by_key == {good["key"]: "taken", str(bad["key"]): "refused"}


@pytest.mark.parametrize("junk", ["2 c", 7, None, [], [1]], ids=str)
def test_what_is_no_entry_does_not_hold_up_the_others(signed_in, count, butter, junk):
    good = entry(count, butter, "2 c")

    answers = send(signed_in, junk, good)

    outcomes = [answer["outcome"] for answer in answers]
    assert sorted(outcomes) == ["refused", "taken"]


@pytest.mark.parametrize("body", ["", "[]", "{}", '{"entries": 3}', '{"entries": [3'])
def test_what_is_no_list_of_entries_is_refused(signed_in, body):
    response = signed_in.post("/count/entries/", body, content_type="application/json")

    assert response.status_code == 400


def test_entries_after_posting_are_kept_with_what_to_do(signed_in, count, butter):
    send(signed_in, entry(count, butter, "2 c"))
    counting.send_to_review(count.pk)
    counting.post_count(count.pk, at=NOON)

    [answer] = send(signed_in, entry(count, butter, "3 c"))

    assert answer["outcome"] == "kept"
    assert "posted before this came" in answer["sentence"]


def test_whoever_is_signed_out_sends_nothing(client, count, butter):
    body = json.dumps({"entries": [entry(count, butter, "2 c")]})

    response = client.post("/count/entries/", body, content_type="application/json")

    assert response.status_code == 302
    assert not CountEntry.objects.exists()


def test_the_review_says_the_difference_in_units_and_money(signed_in, count, butter):
    send(signed_in, entry(count, butter, "1 c"))

    page = signed_in.get(f"/count/{count.pk}/review/").content.decode()

    assert (
        "1 case counted, 2 cases on record: 1 case less, \N{MINUS SIGN}$50.00."
        in page.replace("\N{NO-BREAK SPACE}", " ")
    )


def test_what_is_within_two_in_a_hundred_does_not_crowd_what_differs(
    signed_in, count, butter, walk_in
):
    flour = build.item("flour", on_hand_base=10_000, at=NOON - timedelta(days=1))
    send(
        signed_in,
        entry(count, butter, "1 c"),
        entry(count, flour, "9.81 kg"),  # 1.9 in a hundred less
    )

    page = signed_in.get(f"/count/{count.pk}/review/")

    assert [item.name for item in page.context["differing"]] == ["butter"]
    assert [item.name for item in page.context["agreeing"]] == ["flour"]
    assert "1 item within 2 in 100 of the record" in page.content.decode()


def test_two_people_on_one_line_are_decided_by_one_tap(signed_in, count, butter):
    ben = build.user("ben")
    entries = entry(count, butter, "1 c"), entry(count, butter, "2 c", by=ben.pk)
    send(signed_in, *entries)
    before = signed_in.get(f"/count/{count.pk}/review/")
    chosen = CountEntry.objects.get(text="2 c")

    signed_in.post(
        f"/count/{count.pk}/decide/",
        {
            "line": before.context["differing"][0].lines[0].id,
            "choice": chosen.pk,
            "seen": before.context["review"].newest_entry_id,
        },
    )

    assert before.context["review"].conflicts == ("butter",)
    after = signed_in.get(f"/count/{count.pk}/review/").context["review"]
    assert after.conflicts == ()
    assert after.rows[0].counted_base == 20_000


def test_a_note_is_kept_beside_its_line(signed_in, count, butter):
    send(signed_in, entry(count, butter, "1 c"))
    page = signed_in.get(f"/count/{count.pk}/review/")
    line = page.context["differing"][0].lines[0].id

    signed_in.post(f"/count/{count.pk}/note/", {"line": line, "note": "lent to ben"})

    page = signed_in.get(f"/count/{count.pk}/review/").content.decode()
    assert "Note: lent to ben" in page


def test_posting_says_what_happened_and_keeps_later_deliveries(
    signed_in, count, butter, walk_in
):
    send(signed_in, entry(count, butter, "1 c"))
    received = Movement.Kind.RECEIVED
    build.stock(
        butter, 10_000, place=walk_in, at=NOON + timedelta(hours=1), kind=received
    )
    signed_in.post(f"/count/{count.pk}/done/")
    review = signed_in.get(f"/count/{count.pk}/review/").context["review"]

    response = signed_in.post(
        f"/count/{count.pk}/post/", {"seen": review.newest_entry_id}, follow=True
    )

    assert said(response)[-1] == (
        "The count is posted. The record of 1 item was corrected."
    )
    # 10 kg counted at noon, 10 kg came at one
    assert levels.on_hand_base_by_item() == {butter.pk: Decimal(20_000)}


def test_what_was_set_by_hand_meanwhile_is_told_and_stops_the_posting(
    signed_in, count, butter, walk_in
):
    send(signed_in, entry(count, butter, "1 c"))
    row = OnHandRow(butter.pk, walk_in.pk, Decimal(10_000))
    set_on_hand(row, at=NOON + timedelta(hours=1))
    signed_in.post(f"/count/{count.pk}/done/")

    page = signed_in.get(f"/count/{count.pk}/review/").content.decode()
    response = signed_in.post(f"/count/{count.pk}/post/", follow=True)

    assert "clear this line on the sheet" in page
    assert said(response)[-1].startswith("Set right since the count's moment: butter.")
    assert levels.on_hand_base_by_item() == {butter.pk: Decimal(10_000)}


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

    assert "Open for 9 days: post it, or drop it and start anew." in page


def test_an_entry_that_came_after_the_review_was_read_stops_the_posting(
    signed_in, count, butter
):
    send(signed_in, entry(count, butter, "1 c"))
    signed_in.post(f"/count/{count.pk}/done/")
    seen = signed_in.get(f"/count/{count.pk}/review/").context["review"]
    send(signed_in, entry(count, butter, "2 c", sequence=2))

    response = signed_in.post(
        f"/count/{count.pk}/post/", {"seen": seen.newest_entry_id}, follow=True
    )

    assert "Entries came in after" in said(response)[-1]
    assert Count.objects.get().state == Count.State.IN_REVIEW


def test_a_count_is_dropped_only_after_asking(signed_in, count, butter):
    send(signed_in, entry(count, butter, "1 c"))

    asked = signed_in.get(f"/count/{count.pk}/drop/").content.decode()
    signed_in.post(f"/count/{count.pk}/drop/")

    assert "1 item counted" in asked
    assert Count.objects.get().state == Count.State.DROPPED
    assert levels.on_hand_base_by_item() == {butter.pk: Decimal(20_000)}


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


def test_a_stored_tare_is_taken_off_what_the_scale_shows(signed_in, count, butter):
    tare = {"name": "bin", "weight": "2.5 kg", "place": count.places.get().pk}
    signed_in.post("/count/tares/", tare)

    [answer] = send(signed_in, entry(count, butter, "12.5 kg - bin"))

    assert answer["words"] == "1 case"


def test_a_tare_that_weighs_nothing_is_refused_beside_its_field(signed_in, db):
    form = {"name": "bin", "weight": "0 lb", "place": ""}

    response = signed_in.post("/count/tares/", form)

    assert "an empty bin weighs something" in response.content.decode()


def test_a_forgotten_tare_is_gone(signed_in, db):
    signed_in.post("/count/tares/", {"name": "bin", "weight": "2 lb", "place": ""})
    tare = Tare.objects.get()

    signed_in.post(f"/count/tares/{tare.pk}/forget/")

    assert not Tare.objects.exists()


def test_only_pages_that_may_be_old_carry_the_mark_for_offline(signed_in, count):
    assert signed_in.get("/count/")["X-Offline"] == "keep"
    assert signed_in.get(sheet_url(count))["X-Offline"] == "keep"
    assert "X-Offline" not in signed_in.get(f"/count/{count.pk}/review/")


def test_every_module_of_the_sheet_is_named_on_its_page(signed_in, count):
    page = signed_in.get(sheet_url(count)).content.decode()

    folder = Path(finders.find("stock/count/start.js")).parent
    modules = {path.name for path in folder.glob("*.js")} - {"worker.js", "left.js"}
    assert {
        name for name in modules if f"/static/stock/count/{name}" in page
    } == modules


def test_the_worker_covers_the_count_pages_and_needs_no_one_signed_in(client, db):
    response = client.get("/count/worker.js")

    assert response["Service-Worker-Allowed"] == "/count/"
    assert response["Content-Type"] == "text/javascript"


def test_a_sheet_asks_the_same_few_questions_of_the_database_whatever_its_length(
    signed_in, count, walk_in, django_assert_max_num_queries
):
    for _ in range(30):
        build.item(place=walk_in)

    with django_assert_max_num_queries(24):
        signed_in.get(sheet_url(count))
