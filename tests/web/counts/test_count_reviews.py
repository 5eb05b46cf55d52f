"""The review of a count: what differs, what is asked, and who decides."""

import re
from datetime import timedelta
from decimal import Decimal
from html import unescape

import pytest
from django.test import Client

from stock.counts import counting
from stock.models import CountDecision, CountEntry
from tests import build
from tests.build import NOON
from tests.on_hand import on_hand_base_by_item
from tests.stock.counts import opened
from tests.web.counts.sending import (
    as_reviewed,
    entry,
    said,
    send,
    send_page,
    sheet_url,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def test_the_review_says_the_difference_in_units_and_money(signed_in, count, butter):
    send(signed_in, entry(count, butter, "1 c"))

    page = signed_in.get(f"/count/{count.pk}/review/").content.decode()

    assert (
        "1 case counted, 2 cases on record: 1 case less, \N{MINUS SIGN}$50.00."
        in page.replace("\N{NO-BREAK SPACE}", " ")
    )


def test_the_variance_is_that_of_the_two_figures_beside_it(signed_in, count, walk_in):
    # 247 are nearly 20 1/2 dozen and would be said so; 243 are 4 fewer.
    eggs = build.item("eggs", measure="count", place=walk_in)
    build.pack(eggs, holds="30 dozen", size_base=360, called="case", price="36")
    build.stock(eggs, 247, place=walk_in, at=NOON - timedelta(days=1))
    send(signed_in, entry(count, eggs, "243 eggs"))

    review = signed_in.get(f"/count/{count.pk}/review/")

    [item] = [*review.context["differing"], *review.context["agreeing"]]
    sentence = item.sentence.replace("\N{NO-BREAK SPACE}", " ")
    assert sentence == (
        "20 dozen 3 eggs counted, 20 dozen 7 eggs on record: 4 eggs less, "
        "\N{MINUS SIGN}$0.40."
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
    send(signed_in, entry(count, butter, "1 c"))
    his = Client()
    his.force_login(ben)
    send(his, entry(count, butter, "2 c", by=ben.pk))
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

    assert before.context["review"].undecided == ("butter",)
    after = signed_in.get(f"/count/{count.pk}/review/").context["review"]
    assert after.undecided == ()
    assert after.rows[0].counted_base == 20_000


def test_what_was_typed_is_quoted_without_the_unit_that_the_page_added(
    signed_in, count, butter
):
    def shown():
        page = signed_in.get(f"/count/{count.pk}/review/")
        [item] = [*page.context["differing"], *page.context["agreeing"]]
        return item.lines[0].said_words

    send_page(signed_in, count, butter="3")  # beside stick
    assert shown() == "ada said “3”, 3 sticks = 300 g"
    send_page(signed_in, count, butter="3 ca")
    assert shown() == "ada said “3 ca”, 3 cases"
    send_page(signed_in, count, butter="3 cases")
    assert shown() == "ada said “3 cases”"
    send(
        signed_in,
        entry(count, butter, "12 case", typed="12", device="page", sequence=2**62),
    )
    assert shown() == "ada said “12”, 12 cases"


def test_an_answer_that_it_is_so_quotes_what_was_typed(signed_in, count, butter):
    send_page(signed_in, count, butter="190")  # sticks: 19 kg of 20 on record
    [line] = signed_in.get(sheet_url(count)).context["lines"]

    send_page(signed_in, count, answer=f"{line.id}=so=digits={line.text}")

    assert [(row.text, row.typed) for row in CountEntry.objects.all()] == [
        ("190 stick", "190"),
        ("190 stick", "190"),
    ]


def test_an_entry_from_before_quotes_its_text(signed_in, count, butter):
    send(signed_in, entry(count, butter, "3 stick"))

    [item] = signed_in.get(f"/count/{count.pk}/review/").context["differing"]

    assert item.lines[0].said_words == "ada said “3 stick”, 300 g"


def test_one_person_on_two_phones_is_not_two_people(signed_in, count, butter):
    earlier = (NOON - timedelta(minutes=5)).isoformat()
    send(signed_in, entry(count, butter, "1 c", entered_at=earlier))
    send(signed_in, entry(count, butter, "2 c", device="tablet"))

    (item,) = signed_in.get(f"/count/{count.pk}/review/").context["differing"]

    assert item.sentence == (
        "ada counted this on two phones, differently. Decide which figure stands."
    )
    words = [
        words.replace("\N{NO-BREAK SPACE}", " ") for _, words in item.lines[0].choices
    ]
    assert words == [
        "ada, today 11:55 am: 1 case",
        "ada, today noon: 2 cases",
        "Added up: 3 cases",
    ]


def test_a_note_is_kept_beside_its_line(signed_in, count, butter):
    send(signed_in, entry(count, butter, "1 c"))
    page = signed_in.get(f"/count/{count.pk}/review/")
    line = page.context["differing"][0].lines[0].id

    signed_in.post(f"/count/{count.pk}/note/", {"line": line, "note": "lent to ben"})

    page = signed_in.get(f"/count/{count.pk}/review/").content.decode()
    assert "Note: lent to ben" in page


def test_a_question_is_decided_in_the_review_and_counted_until_then(
    signed_in, count, butter
):
    """Two cases, 20 kg, are on record; 2 kg is the right number of another word."""
    send(signed_in, entry(count, butter, "2 kg"))
    before = signed_in.get(f"/count/{count.pk}/review/")
    [line] = before.context["differing"][0].lines

    assert ("To decide", 1, "two figures, or a question") in before.context["facts"]
    assert [words for _, words in line.choices] == ["It is 2 kg", "Meant: 2 cases"]
    signed_in.post(f"/count/{count.pk}/done/")
    seen = as_reviewed(signed_in, count)
    refused = signed_in.post(f"/count/{count.pk}/post/", seen, follow=True)
    signed_in.post(
        f"/count/{count.pk}/decide/",
        {
            "line": line.id,
            "choice": line.choices[1][0],
            "version": line.version,
            "seen": before.context["review"].newest_entry_id,
        },
    )

    assert said(refused)[-1].startswith("Asked about, and not answered yet: butter.")
    after = signed_in.get(f"/count/{count.pk}/review/")
    assert ("To decide", 0, "two figures, or a question") in after.context["facts"]
    assert "Decided by ada: 2\N{NO-BREAK SPACE}cases." in after.content.decode()
    signed_in.post(f"/count/{count.pk}/post/", as_reviewed(signed_in, count))
    assert on_hand_base_by_item() == {butter.pk: Decimal(20_000)}


def test_a_reading_that_the_review_does_not_offer_is_refused(signed_in, count, butter):
    send(signed_in, entry(count, butter, "2 kg"))
    [line] = signed_in.get(f"/count/{count.pk}/review/").context["differing"][0].lines

    response = signed_in.post(
        f"/count/{count.pk}/decide/",
        {"line": line.id, "choice": "read 900 cases", "version": 0},
        follow=True,
    )

    assert said(response)[-1].startswith("This line is not in the review now.")


def test_the_answer_to_an_entry_carries_the_question(signed_in, count, butter):
    [answer] = send(signed_in, entry(count, butter, "2 kg"))

    assert answer["question"] == {
        "kind": "pack",
        "sentence": "Did you mean 2 cases?",
        "entered": "2 kg",
        "instead": "2 cases",
    }


def test_a_page_without_scripts_asks_again_when_it_is_opened_anew(
    signed_in, count, butter
):
    send_page(signed_in, count, butter="2 kg")

    [line] = signed_in.get(sheet_url(count)).context["lines"]

    assert line.slip.instead.text == "2 cases"
    send_page(signed_in, count, answer=f"{line.id}=so=pack=2 kg")
    [line] = signed_in.get(sheet_url(count)).context["lines"]
    assert line.slip is None


def decide_form(site, count, choice):
    """What a button of the review's first question sends, as it shows it now."""
    markup = site.get(f"/count/{count.pk}/review/").content.decode()
    form = markup.split(f'action="/count/{count.pk}/decide/"')[1].split("</form>")[0]
    hidden = dict(re.findall(r'name="(\w+)" value="([^"]*)">\n', form))
    [value] = re.findall(rf'value="([^"]+)">{choice}</button>', form)
    return hidden | {"choice": value}


def test_a_decision_from_a_stale_page_is_refused(signed_in, count, butter):
    send(signed_in, entry(count, butter, "2 kg"))
    shown = decide_form(signed_in, count, "It is 2 kg")
    send(signed_in, entry(count, butter, "3 kg", sequence=2))

    page = signed_in.post(f"/count/{count.pk}/decide/", shown, follow=True)

    assert said(page)[-1].startswith('ada entered "3 kg" here after you opened this')
    assert "Decided" not in page.content.decode()


def test_who_means_another_figure_too_late_is_told_who_decided(
    signed_in, count, butter
):
    send(signed_in, entry(count, butter, "2 kg"))
    meant = decide_form(signed_in, count, "Meant: 2 cases")
    his = Client()
    his.force_login(build.user("ben"))
    entered = decide_form(his, count, "It is 2 kg")
    his.post(f"/count/{count.pk}/decide/", entered)

    page = signed_in.post(f"/count/{count.pk}/decide/", meant, follow=True)

    assert said(page)[-1] == (
        'ben chose "2 kg" while you were looking. Look at the line again, then decide.'
    )


def test_another_figure_that_is_sent_twice_is_decided_once(signed_in, count, butter):
    send(signed_in, entry(count, butter, "2 kg"))
    meant = decide_form(signed_in, count, "Meant: 2 cases")
    signed_in.post(f"/count/{count.pk}/decide/", meant)

    page = signed_in.post(f"/count/{count.pk}/decide/", meant, follow=True)

    assert said(page)[-1].startswith("Decided.")
    assert CountDecision.objects.get().version == 1


def test_an_entry_that_cannot_be_read_is_quoted_with_the_figure_before_it(
    signed_in, count, butter
):
    send(signed_in, entry(count, butter, "2 c"))
    send(signed_in, entry(count, butter, "6/5 lb", sequence=2))

    page = signed_in.get(f"/count/{count.pk}/review/")
    markup = page.content.decode()

    assert "ada's newest entry, “6/5 lb”, could not be read." in unescape(markup)
    [line] = page.context["differing"][0].lines
    assert [words for _, words in line.choices] == ["It is 2 cases"]
    assert f'href="{sheet_url(count)}#{line.id.partition("-")[2]}"' in markup
    assert "Decide on butter first." in markup
    form = decide_form(signed_in, count, "It is 2 cases")
    signed_in.post(f"/count/{count.pk}/decide/", form)
    after = signed_in.get(f"/count/{count.pk}/review/")
    assert after.context["review"].undecided == ()


def test_a_page_without_scripts_keeps_what_would_replace_a_figure(
    signed_in, count, butter
):
    send_page(signed_in, count, butter="5 lb")
    faulty = send_page(signed_in, count, butter="6/5 lb")

    [first] = faulty.context["lines"]
    assert first.text == "6/5 lb"
    assert first.problem.startswith('"6/5 lb" could be 6 x 5 lb or ')
    [again] = signed_in.get(sheet_url(count)).context["lines"]
    assert again.text == "6/5 lb"
    assert again.problem.endswith(" 5 lb stands until then.")
    assert again.readings == first.readings != ()
    assert CountEntry.objects.count() == 2
    send_page(signed_in, count)  # as it stands: nothing was changed
    assert CountEntry.objects.count() == 2
    send_page(signed_in, count, answer=f"{again.id}=meant=={again.readings[0]}")
    [line] = signed_in.get(sheet_url(count)).context["lines"]
    assert (line.problem, line.text) == ("", again.readings[0])


def test_sheet_review_and_item_say_one_amount_in_the_same_words(signed_in, walk_in):
    # 4,500 g are 9 lb 14.73 oz, and ten pounds to one in a hundred
    cocoa = build.item("cocoa", place=walk_in, safety="1 lb")
    build.stock(cocoa, 4_500, place=walk_in, at=NOON - timedelta(days=1))
    count = opened(walk_in)
    send(signed_in, entry(count, cocoa, "10 lb", confirmed=True))

    pages = [
        unescape(signed_in.get(address).content.decode()).replace("\xa0", " ")
        for address in (
            f"/count/{count.pk}/review/",
            sheet_url(count),
            f"/shelves/{cocoa.pk}/",
        )
    ]

    assert "10 lb counted, about 10 lb (4,500 g) on record: 1 1/4 oz more" in pages[0]
    assert "On record 10 lb." in pages[1]
    assert "<strong>about 10 lb (4,500 g)</strong>" in pages[2]
    counting.send_to_review(count.pk)
    counting.post_count(count.pk, at=NOON)
    posted = signed_in.get(f"/count/{count.pk}/review/").content.decode()
    assert "about 10 lb (4,500 g)" in posted.replace("\xa0", " ")
