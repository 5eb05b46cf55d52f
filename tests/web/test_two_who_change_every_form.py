"""Two people open any form of the kitchen: what the other saved is seen."""

import json
import re

import pytest
from django.urls import reverse

from planning.models import PlannedCake, RecipeLine
from stock.models import Item, Pack, Place, Substitute, Supplier
from tests import build
from tests.web.reading import page
from tests.web.two_people import again, conflicts, opened

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


class TestEveryForm:
    """One thing is changed behind the back of a form; another is saved with it."""

    @pytest.fixture
    def rows(self):
        place = build.place("walk-in")
        eggs = build.item("eggs", measure="count", place=place)
        cream = build.item("cream")
        build.part("white", whole=eggs, yields_base=33)
        build.substitute(cream, build.item("milk"))
        build.pack(eggs, build.supplier("Farm"), label="flat", price="4.00")
        build.bakery(time_zone="UTC")
        cake = build.cake("lemon cake", lines=[(cream, 100)])
        build.planned_cake(cake, reference="2201")
        return cake

    @pytest.mark.parametrize(
        ("page", "row", "column", "theirs", "mine"),
        [
            ("stock:change_place", Place, "place", "fridge", "cellar"),
            ("stock:change_supplier", Supplier, "email", "a@b.example", "c@d.example"),
            ("stock:change_pack", Pack, "price", "5", "6"),
            ("stock:change_substitute", Substitute, "note", "thin it", "no"),
            ("stock:change_item", "eggs", "safety", "3 each", "4 each"),
            ("stock:change_part", "white", "yields", "30 g", "31 g"),
            ("planning:change_recipe", "lemon cake", "lead_days", "2", "3"),
            ("planning:recipe_line", RecipeLine, "quantity", "110 g", "120 g"),
            ("planning:change_cake", PlannedCake, "quantity", "2", "3"),
            ("planning:kitchen", None, "horizon_days", "10", "20"),
        ],
    )
    def test_asks_before_it_writes_over_another(
        self, signed_in, rows, page, row, column, theirs, mine
    ):
        url = reverse(page, args=self.args(row))
        sent = opened(signed_in, url)

        assert signed_in.post(url, sent | {column: theirs}).status_code == 302
        response = signed_in.post(url, sent | {column: mine})

        assert list(conflicts(response)) == [column]
        assert f"Saved meanwhile: {theirs}." in conflicts(response)[column]
        assert response.context["form"][column].value() == mine
        assert opened(signed_in, url)[column] == theirs
        assert signed_in.post(url, again(response)).status_code == 302
        assert opened(signed_in, url)[column] == mine

    @pytest.mark.parametrize(
        ("column", "theirs", "mine"), [("name", "Rosa P.", "Rosa Park")]
    )
    def test_asks_about_people_too(self, client, column, theirs, mine):
        client.force_login(build.user("ada", is_staff=True))
        url = reverse("planning:change_person", args=[build.user("rosa").pk])
        sent = opened(client, url)

        assert client.post(url, sent | {column: theirs}).status_code == 302
        response = client.post(url, sent | {column: mine})

        assert conflicts(response) == {
            column: f"Saved meanwhile: {theirs}. It was: blank. Yours stands here."
        }
        assert opened(client, url)[column] == theirs
        assert client.post(url, again(response)).status_code == 302
        assert opened(client, url)[column] == mine

    def args(self, row):
        if row is None:
            return []
        if isinstance(row, str):
            return [Item.objects.get(name=row).pk]
        return [row.objects.get().pk]

    @pytest.mark.parametrize(
        "template",
        ["cake_form", "line_form"],
    )
    def test_forms_with_a_page_of_their_own_carry_it_too(
        self, signed_in, rows, template
    ):
        of_line = reverse("planning:recipe_line", args=self.args(RecipeLine))
        of_cake = reverse("planning:change_cake", args=self.args(PlannedCake))
        url = of_line if template == "line_form" else of_cake

        markup = page(signed_in, url)

        assert re.search(r'<input type="hidden" name="version" value="1"', markup)
        was = re.search(r'name="as_opened" value="(\{.*?\})"', markup)
        assert json.loads(was.group(1))["quantity"] in {"100 g", "1"}
