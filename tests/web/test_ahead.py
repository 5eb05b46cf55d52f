"""An item's days ahead, and what takes it, step by step up to the cakes."""

import re
from datetime import timedelta
from html import unescape

import pytest

from stock.models import Item
from tests import build
from tests.build import MONDAY

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

TUESDAY, FRIDAY, SATURDAY, NEXT_FRIDAY = (
    MONDAY + timedelta(days=days) for days in (1, 4, 5, 11)
)


@pytest.fixture
def butter():
    """1 kg of butter; icing takes half its own weight of it, cakes take icing.

    C-1 takes 1,500 g of icing on Tuesday, C-2 three times as much on Saturday, for
    three cakes.
    """
    butter = build.item("butter", on_hand_base=1_000, safety_base=200)
    icing = build.recipe("Icing", yield_base=1_000, lines=[(butter, 500)])
    torte = build.cake("Torte", lines=[(icing, 1_500)])
    build.planned_cake(torte, due_on=TUESDAY, reference="C-1")
    build.planned_cake(torte, due_on=SATURDAY, reference="C-2", quantity=3)
    return butter


def page(browser, address):
    response = browser.get(address)
    assert response.status_code == 200
    return " ".join(unescape(response.content.decode()).split())


def row(markup, day):
    """An item's row of one day."""
    return next(part for part in markup.split("<tr") if f">{day}<" in part)


def test_it_says_what_happens_beside_the_picture(signed_in, butter):
    markup = page(signed_in, f"/ahead/{butter.pk}/")

    # 1,000 - 750 on Tuesday; on Saturday 3 x 750 = 2,250 are taken: 2,000 short
    assert "Runs out Saturday, 2 kg short." in markup
    assert '<svg class="shelf-line shelf-line-item"' in markup


def test_the_table_says_each_day_in_words_and_in_the_base_unit(signed_in, butter):
    dairy = build.supplier("Dairy")
    cases = build.pack(butter, dairy, size_base=500)
    build.order(dairy, deliver_on=FRIDAY, lines=[(cases, 1)], reference="PO-1")

    markup = page(signed_in, f"/ahead/{butter.pk}/")

    tuesday = row(markup, "Tue May 5")
    assert tuesday.index("1,000 g") < tuesday.index("750 g") < tuesday.index("250 g")
    assert "enough" in tuesday
    assert "500 g" in row(markup, "Fri May 8")
    assert f'<a href="/ahead/{butter.pk}/2026-05-05/">750 g' in tuesday
    saturday = row(markup, "Sat May 9")  # 250 + 500 - 2,250
    assert "minus 1.5 kg" in saturday
    assert "\N{MINUS SIGN}1,500 g" in saturday
    assert "<strong>1.5 kg short</strong>" in saturday
    assert "<strong>Friday</strong>: Dairy, order <a href=" in markup
    assert ">PO-1</a>" in markup


def part(markup, beginning, end):
    """The words of a stretch of a page, without its marks."""
    stretch = markup[markup.index(beginning) :]
    return " ".join(re.sub(r"<[^>]+>", " ", stretch[: stretch.index(end)]).split())


def test_a_lack_is_added_up_to_its_figure(signed_in, butter):
    markup = page(signed_in, f"/ahead/{butter.pk}/")

    # 2,250 taken on Saturday, of 250 that Tuesday leaves
    added = part(markup, '<table class="sum">', "</table>")
    assert "Used Saturday 2.25 kg 2,250 g" in added
    assert "Less on hand when Saturday begins \N{MINUS SIGN} 250 g" in added
    assert added.endswith("Short 2 kg 2,000 g")


def test_a_lack_below_safety_counts_what_is_to_stay(signed_in):
    salt = build.item("salt", on_hand_base=300, safety_base=200)
    build.planned_cake(build.cake(lines=[(salt, 150)]), due_on=TUESDAY)

    markup = page(signed_in, f"/ahead/{salt.pk}/")

    added = part(markup, '<table class="sum">', "</table>")
    assert "Used tomorrow 150 g" in added
    assert "Safety, to stay 200 g" in added
    assert added.endswith("Below safety 50 g")


def test_a_lack_carries_its_chain_of_recipe_and_cakes(signed_in, butter):
    torte = Item.objects.get(name="Torte").recipe
    build.planned_cake(torte, due_on=SATURDAY, reference="C-3")

    markup = page(signed_in, f"/ahead/{butter.pk}/")

    # half of 1,500 g of icing a cake: 2,250 for the three of C-2 and 750 for C-3
    chain = part(markup, "What is used Saturday, and for which cakes", "</section>")
    assert "3 kg 3,000 g for Icing, 2 cakes" in chain
    assert "2.25 kg 2,250 g for C-2 Torte, due Saturday" in chain
    assert "750 g for C-3 Torte, due Saturday" in chain
    assert "C-1" not in chain


def test_the_whole_of_several_parts_is_used_once(signed_in):
    eggs = build.item("eggs", measure="count", on_hand_base=60)
    white = build.part("egg white", whole=eggs, yields_base=30)
    yolk = build.part("egg yolk", whole=eggs, yields_base=20)
    meringue_cake = build.cake(lines=[(white, 300), (yolk, 100)])
    build.planned_cake(meringue_cake, due_on=TUESDAY)

    markup = page(signed_in, f"/ahead/{eggs.pk}/")

    # 10 for the whites; the 5 for the yolks are among them
    assert "Tomorrow: 10 eggs" in markup
    assert "One whole gives all its parts" in markup
    assert '<p class="lead">10 eggs tomorrow' in page(
        signed_in, f"/ahead/{eggs.pk}/{TUESDAY}/"
    )


def test_par_is_said_to_be_missed_on_par_days_alone(signed_in):
    flour = build.item("flour", on_hand_base=1_000, par_base=2_000)
    build.pack(flour, build.supplier("Mill"))

    of_one = page(signed_in, f"/ahead/{flour.pk}/")
    of_all = page(signed_in, "/shortfalls/days/")

    assert "below par" not in row(of_one, "Sat May 9")
    assert "below par" in row(of_one, "Sun May 10")
    assert of_all.count("1 kg, below par") == 2  # Sun May 10 and Sun May 17


def test_an_item_with_enough_says_so(signed_in):
    salt = build.item("salt", on_hand_base=300)

    markup = page(signed_in, f"/ahead/{salt.pk}/")

    assert "There is enough on every day." in markup
    assert "Nothing takes any of it up to Sun May 17." in markup


def test_each_day_names_what_takes_it(signed_in, butter):
    markup = page(signed_in, f"/ahead/{butter.pk}/")

    icing = Item.objects.get(name="Icing")
    tuesday = markup[
        markup.index("Tomorrow: 750 g") : markup.index("Saturday: 2.25 kg")
    ]
    assert f'<a href="/ahead/{icing.pk}/">Icing</a>, 1 1/2 batches' in tuesday
    assert f'href="/ahead/{butter.pk}/2026-05-05/"' in tuesday
    saturday = markup[markup.index("Saturday: 2.25 kg") :]
    assert "Icing</a>, 4 1/2 batches" in saturday


def test_a_trace_goes_up_to_the_cakes(signed_in, butter):
    markup = page(signed_in, f"/ahead/{butter.pk}/2026-05-09/")

    # 2,250 g of butter for 4,500 g of icing for three cakes
    assert "2.25 kg Saturday, step by step up to the cakes." in markup
    assert markup.index("What takes Butter") < markup.index("What takes Icing")
    icing = markup[markup.index("What takes Icing") :]
    assert "<summary>4.5 kg</summary>" in icing
    assert "(3 of them)" in icing
    assert ">C-2</a> Torte, due Saturday" in icing
    assert "C-1" not in markup


def test_a_day_without_use_says_so(signed_in, butter):
    markup = page(signed_in, f"/ahead/{butter.pk}/2026-05-06/")

    assert "Nothing takes any of it Wednesday." in markup


def test_something_made_shows_its_makings_its_stock_and_its_takers(signed_in, butter):
    icing = Item.objects.get(name="Icing")
    build.stock(icing, 500, place=build.place("fridge"), use_by=SATURDAY, lot="I-1")

    markup = page(signed_in, f"/ahead/{icing.pk}/")

    # on Tuesday 1,500 g are needed and 500 g lie ready: one batch of 1,000 g
    assert "<strong>Tomorrow</strong>: 1 batch, 1 kg" in markup
    made = part(markup, "<strong>Tomorrow</strong>", "</table>")
    assert "Needed by what takes it 1.5 kg 1,500 g" in made
    assert "Less what lies ready \N{MINUS SIGN} 500 g" in made
    assert made.endswith("Made 1 kg 1,000 g")
    assert "<strong>Saturday</strong>: 4 1/2 batches," in markup
    assert ">C-1</a> Torte, due tomorrow" in markup
    assert "Fridge, lot I-1" in markup
    assert "by Saturday." in markup
    assert "local codes" in markup.lower()


def test_a_cake_shows_when_it_is_made_and_for_whom(signed_in, butter):
    torte = Item.objects.get(name="Torte")

    markup = page(signed_in, f"/ahead/{torte.pk}/")

    assert "<strong>Saturday</strong>: 3" in markup
    assert ">C-2</a> Torte, due Saturday" in markup


def test_a_part_leads_to_its_whole(signed_in):
    eggs = build.item("eggs", measure="count", on_hand_base=12)
    white = build.part("egg white", whole=eggs, yields_base=33)
    build.planned_cake(build.cake(lines=[(white, 66)]), due_on=TUESDAY)

    part, whole = (page(signed_in, f"/ahead/{item.pk}/") for item in (white, eggs))

    assert f'taken from eggs: <a href="/ahead/{eggs.pk}/">' in part
    assert ">egg white</a>, 66 g" in whole  # two eggs for 66 g


def test_a_retired_item_is_not_planned_for(signed_in):
    salt = build.item("salt", retired=True)

    assert "It is retired" in page(signed_in, f"/ahead/{salt.pk}/")


@pytest.mark.parametrize("address", ["/ahead/77/", "/ahead/77/2026-05-04/"])
def test_an_unknown_item_has_no_page(signed_in, address):
    assert signed_in.get(address).status_code == 404


def test_a_day_that_is_none_has_no_page(signed_in, butter):
    assert signed_in.get(f"/ahead/{butter.pk}/2026-02-30/").status_code == 404


@pytest.mark.parametrize("many", [1, 12])
def test_the_queries_do_not_grow_with_what_takes_it(
    signed_in, django_assert_num_queries, many
):
    butter = build.item("butter")
    pack = build.pack(butter)
    for number in range(many):
        build.stock(butter, 1, use_by=SATURDAY, lot=f"lot {number}")
        build.order(pack.supplier, deliver_on=NEXT_FRIDAY, lines=[(pack, 1)])
        layers = build.recipe(lines=[(butter, 500)])
        build.planned_cake(build.cake(lines=[(layers, 900)]), due_on=SATURDAY)

    # who is signed in 2, the bakery 1, the item 1, its lots 3, the plan 7; the bake
    # plan's lines behind the lack 1, in its chain 1 and behind what takes it 1; was it
    # counted 1; the orders on their way 1; whether found orders are gone by 1
    with django_assert_num_queries(20):
        page(signed_in, f"/ahead/{butter.pk}/")
    with django_assert_num_queries(13):
        page(signed_in, f"/ahead/{butter.pk}/{SATURDAY}/")


def test_a_gap_below_safety_is_never_called_short(signed_in):
    salt = build.item("salt", on_hand_base=500, safety_base=450)
    build.planned_cake(build.cake(lines=[(salt, 100)]), due_on=MONDAY)

    markup = page(signed_in, f"/ahead/{salt.pk}/")

    assert "Falls below safety today, by up to 50 g." in markup
    assert "50 g below safety</span>" in markup
    assert "50 g short" not in markup


def test_what_has_no_safety_is_short_and_never_below_it(signed_in):
    berries = build.item("berries", on_hand_base=100)
    build.planned_cake(build.cake(lines=[(berries, 300)]), due_on=TUESDAY)

    spoken = part(page(signed_in, f"/ahead/{berries.pk}/"), "<desc", "</desc>")

    assert "Short on 13 days, from Tue May 5 to Sun May 17." in spoken
    assert "Below safety" not in spoken
