"""Two people open the same form: the second to save sees both, and chooses."""

from html import unescape

import pytest

from planning.models import RecipeLine
from stock.models import Bakery
from stock.web.forms.entry_conflicts import CHANGED_SINCE
from tests import build
from tests.web.reading import as_shown
from tests.web.two_people import again, conflicts, opened

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def flour():
    return build.item("flour", par="10 lb", par_base=4_535.9237, safety_base=500)


@pytest.fixture
def change_url(flour):
    return f"/shelves/{flour.pk}/change/"


def test_what_both_changed_is_shown_with_what_it_was(signed_in, flour, change_url):
    mine = opened(signed_in, change_url)
    signed_in.post(change_url, mine | {"par": "12 lb"})

    response = signed_in.post(change_url, mine | {"par": "14 lb"})

    assert response.context["form"].non_field_errors() == [CHANGED_SINCE]
    assert conflicts(response) == {
        "par": "Saved meanwhile: 12 lb. It was: 10 lb. Yours stands here."
    }
    markup = unescape(response.content.decode())
    assert 'value="14 lb"' in markup
    assert "Keep 12 lb" in markup
    flour.refresh_from_db()
    assert flour.par == "12 lb"


def test_saved_again_mine_is_stored(signed_in, flour, change_url):
    mine = opened(signed_in, change_url) | {"par": "14 lb"}
    signed_in.post(change_url, mine | {"par": "12 lb"})
    response = signed_in.post(change_url, mine)

    saved = signed_in.post(change_url, again(response))

    assert saved.status_code == 302
    flour.refresh_from_db()
    assert (flour.par, flour.version) == ("14 lb", 3)


def test_or_theirs_is_kept_and_the_rest_of_mine_is_stored(signed_in, flour, change_url):
    mine = opened(signed_in, change_url) | {"par": "14 lb", "allergens": "wheat"}
    signed_in.post(change_url, mine | {"par": "12 lb", "allergens": ""})
    response = signed_in.post(change_url, mine)

    signed_in.post(change_url, again(response) | {"theirs": "par"})

    flour.refresh_from_db()
    assert (flour.par, flour.allergens) == ("12 lb", "wheat")


def test_a_choice_stays_where_another_field_is_to_be_mended(
    signed_in, flour, change_url
):
    mine = opened(signed_in, change_url) | {"par": "14 lb"}
    signed_in.post(change_url, mine | {"par": "12 lb"})
    chosen = again(signed_in.post(change_url, mine)) | {"theirs": "par"}

    response = signed_in.post(change_url, chosen | {"keeps_days": "x"})

    assert "keeps_days" in response.context["form"].errors
    signed_in.post(change_url, again(response) | {"keeps_days": "90"})
    flour.refresh_from_db()
    assert (flour.par, flour.keeps_days) == ("12 lb", 90)


def test_what_only_the_other_changed_stays_as_they_saved_it(
    signed_in, flour, change_url
):
    mine = opened(signed_in, change_url)
    signed_in.post(change_url, mine | {"keeps_days": "90"})

    response = signed_in.post(change_url, mine | {"par": "14 lb"})

    assert conflicts(response) == {
        "keeps_days": "Saved meanwhile: 90, which stands here now. It was: blank."
    }
    signed_in.post(change_url, again(response))
    flour.refresh_from_db()
    assert (flour.par, flour.keeps_days) == ("14 lb", 90)


def test_a_third_who_saves_before_the_choice_is_seen_too(signed_in, flour, change_url):
    mine = opened(signed_in, change_url)
    signed_in.post(change_url, mine | {"par": "12 lb"})
    response = signed_in.post(change_url, mine | {"par": "14 lb"})
    signed_in.post(change_url, opened(signed_in, change_url) | {"par": "13 lb"})

    second = signed_in.post(change_url, again(response))

    assert conflicts(second) == {
        "par": "Saved meanwhile: 13 lb. It was: 12 lb. Yours stands here."
    }


def test_the_same_form_sent_twice_is_harmless(signed_in, flour, change_url):
    mine = opened(signed_in, change_url) | {"par": "14 lb"}

    first = signed_in.post(change_url, mine)
    second = signed_in.post(change_url, mine)

    assert first.url == second.url == f"/shelves/{flour.pk}/"
    flour.refresh_from_db()
    assert flour.version == 2


def test_a_wrong_field_of_a_late_entry_is_told_first_and_mine_is_kept(
    signed_in, flour, change_url
):
    mine = opened(signed_in, change_url)
    signed_in.post(change_url, mine | {"par": "12 lb"})

    response = signed_in.post(change_url, mine | {"par": "14 lb", "keeps_days": "x"})

    assert "keeps_days" in response.context["form"].errors
    fixed = signed_in.post(change_url, again(response) | {"keeps_days": ""})
    assert conflicts(fixed)["par"].startswith("Saved meanwhile: 12 lb.")


@pytest.mark.parametrize(
    "version", ["", "0", "-1", "x", "1.0", "\u0661", "9" * 400, "1e3", "2"]
)
def test_a_missing_or_hostile_version_saves_nothing(
    signed_in, flour, change_url, version
):
    mine = opened(signed_in, change_url) | {"par": "14 lb", "version": version}

    response = signed_in.post(change_url, mine)

    assert response.status_code == 200
    assert str(CHANGED_SINCE) in response.content.decode().replace("&#x27;", "'")
    flour.refresh_from_db()
    assert flour.par == "10 lb"


@pytest.mark.parametrize(
    "texts",
    [
        "",
        "{",
        "[" * 100_000,
        '"par"',
        '{"par": 7}',
        '{"par": "\\u0000"}',
        '{"par": "\\ud800"}',
        '{"par": "<script>"}',
        "9" * 10_000,
    ],
)
def test_a_hostile_memory_of_the_form_is_shown_to_nobody(
    signed_in, flour, change_url, texts
):
    mine = opened(signed_in, change_url)
    signed_in.post(change_url, mine | {"par": "12 lb"})

    response = signed_in.post(
        change_url, mine | {"par": "14 lb", "as_opened": texts, "theirs": "zzz"}
    )

    assert response.status_code == 200
    assert "<script>" not in response.content.decode().partition("<main")[2]
    assert conflicts(response)["par"].startswith("Saved meanwhile: 12 lb")
    flour.refresh_from_db()
    assert flour.par == "12 lb"


def test_ticked_boxes_and_weekdays_that_the_other_changed_stand_as_theirs(signed_in):
    dairy = build.supplier("Dairy", delivery_days="Tue Fri")
    pack = build.pack(build.item("butter"), dairy, called="case")
    url, pack_url = f"/suppliers/{dairy.pk}/change/", f"/suppliers/packs/{pack.pk}/"
    mine, my_pack = opened(signed_in, url), opened(signed_in, pack_url)
    signed_in.post(url, mine | {"delivery_days": ["Mon", "Thu"]})
    signed_in.post(pack_url, my_pack | {"preferred": "on"})

    of_days = signed_in.post(url, mine | {"email": "orders@dairy.example"})
    of_box = signed_in.post(pack_url, my_pack | {"code": "B1"})

    assert list(conflicts(of_days)) == ["delivery_days"]
    assert list(conflicts(of_box)) == ["preferred"]
    signed_in.post(url, again(of_days))
    signed_in.post(pack_url, again(of_box) | {"preferred": "on"})
    dairy.refresh_from_db()
    pack.refresh_from_db()
    assert (dairy.delivery_days, dairy.email) == ("Mon Thu", "orders@dairy.example")
    assert (pack.preferred, pack.code) == (True, "B1")
    assert of_box.context["form"]["preferred"].value() is True


class TestButtons:
    """A button does nothing to a row that is no longer what its page showed."""

    def test_an_item_that_was_changed_is_not_retired(self, signed_in, flour):
        shown = as_shown(flour)
        change_url = f"/shelves/{flour.pk}/change/"
        signed_in.post(change_url, opened(signed_in, change_url) | {"par": "1 lb"})

        response = signed_in.post(f"/shelves/{flour.pk}/retire/", shown, follow=True)

        *_, message = response.context["messages"]
        assert str(message) == (
            "Flour: changed after you opened it, so nothing was done. "
            "Check it, then try again."
        )
        flour.refresh_from_db()
        assert not flour.retired

    @pytest.mark.parametrize("version", [None, "", "x", "0", "9" * 400])
    def test_without_a_version_nothing_is_done(self, signed_in, flour, version):
        sent = {} if version is None else {"version": version}

        signed_in.post(f"/shelves/{flour.pk}/retire/", sent)

        flour.refresh_from_db()
        assert not flour.retired

    def test_a_button_pressed_twice_is_harmless(self, signed_in, flour):
        shown = as_shown(flour)

        signed_in.post(f"/shelves/{flour.pk}/retire/", shown)
        response = signed_in.post(f"/shelves/{flour.pk}/retire/", shown, follow=True)

        messages = [str(each) for each in response.context["messages"]]
        assert messages[-1] == "Retired: flour. The history stays."
        flour.refresh_from_db()
        assert (flour.retired, flour.version) == (True, 2)

    def test_a_cake_that_was_moved_is_not_cancelled(self, signed_in):
        planned = build.planned_cake(reference="2201")
        shown = as_shown(planned)
        url = f"/bake-plan/{planned.pk}/change/"
        signed_in.post(url, opened(signed_in, url) | {"due": "2026-05-20"})

        signed_in.post(
            f"/bake-plan/{planned.pk}/status/", {"status": "cancelled"} | shown
        )

        planned.refresh_from_db()
        assert planned.status == "confirmed"

    def test_a_line_that_was_changed_is_not_removed(self, signed_in):
        line = build.recipe("curd", lines=[(build.item("sugar"), 100)]).lines.get()
        shown = as_shown(line)
        url = f"/recipes/lines/{line.pk}/"
        signed_in.post(url, opened(signed_in, url) | {"quantity": "120 g"})

        response = signed_in.post(f"{url}remove/", shown)

        assert response.url == url
        assert RecipeLine.objects.filter(pk=line.pk).exists()


class TestGoneMeanwhile:
    def test_an_entry_for_a_line_that_was_removed_stands_ready_to_be_added(
        self, signed_in
    ):
        curd = build.recipe("curd", lines=[(build.item("sugar"), 100)])
        url = f"/recipes/lines/{curd.lines.get().pk}/"
        mine = opened(signed_in, url) | {"quantity": "120 g"}
        signed_in.post(f"{url}remove/", as_shown(curd.lines.get()))

        response = signed_in.post(url, mine)

        ready = signed_in.get(response.url)
        assert "Somebody removed this line" in ready.content.decode()
        form = ready.context["form"]
        assert form["component"].value() == "sugar"
        assert form["quantity"].value() == "120 g"

    def test_an_entry_for_a_substitute_that_was_removed_stands_ready_too(
        self, signed_in
    ):
        stored = build.substitute(build.item("cream"), build.item("milk"))
        url = f"/shelves/substitutes/{stored.pk}/"
        mine = opened(signed_in, url) | {"note": "thin it"}
        signed_in.post(f"{url}take-away/", as_shown(stored))

        response = signed_in.post(url, mine)

        ready = signed_in.get(response.url)
        form = ready.context["form"]
        assert form["substitute"].value() == "milk"
        assert form["note"].value() == "thin it"

    @pytest.mark.parametrize("texts", ["", "{}", '{"recipe": "none of ours"}'])
    def test_without_a_memory_of_the_form_it_is_an_unknown_page(self, signed_in, texts):
        line = build.recipe("curd", lines=[(build.item("sugar"), 100)]).lines.get()
        url = f"/recipes/lines/{line.pk}/"
        line.delete()

        response = signed_in.post(url, {"quantity": "1 g", "as_opened": texts})

        assert response.status_code == 404

    def test_an_entry_for_a_cake_that_was_cancelled_is_kept_and_asked_about(
        self, signed_in
    ):
        planned = build.planned_cake(reference="2201")
        url = f"/bake-plan/{planned.pk}/change/"
        mine = opened(signed_in, url) | {"quantity": "4"}
        signed_in.post(
            f"/bake-plan/{planned.pk}/status/",
            {"status": "cancelled"} | as_shown(planned),
        )

        response = signed_in.post(url, mine)

        assert conflicts(response)["status"] == (
            "Saved meanwhile: cancelled, which stands here now. It was: confirmed."
        )
        assert '<option value="cancelled" selected>' in response.content.decode()
        signed_in.post(url, again(response))
        planned.refresh_from_db()
        assert (planned.status, planned.quantity) == ("cancelled", 4)

    def test_an_entry_for_a_cake_that_was_baked_changes_nothing_and_is_kept(
        self, signed_in
    ):
        planned = build.planned_cake(reference="2201")
        url = f"/bake-plan/{planned.pk}/change/"
        mine = opened(signed_in, url) | {"quantity": "4"}
        signed_in.post(
            f"/bake-plan/{planned.pk}/status/", {"status": "baked"} | as_shown(planned)
        )

        response = signed_in.post(url, mine)

        assert response.context["form"].errors["quantity"] == [
            "2201 is baked already. Copy it to plan the same cake again."
        ]
        planned.refresh_from_db()
        assert (planned.status, planned.quantity) == ("baked", 1)


def test_settings_show_what_was_saved_meanwhile(signed_in):
    build.bakery(name="Quince & Rye", horizon_days=14, time_zone="UTC")
    mine = opened(signed_in, "/kitchen/")
    signed_in.post("/kitchen/", mine | {"horizon_days": "10", "closed_days": ["Mon"]})

    response = signed_in.post("/kitchen/", mine | {"horizon_days": "20"})

    assert set(conflicts(response)) == {"horizon_days", "closed_days"}
    signed_in.post("/kitchen/", again(response) | {"theirs": "horizon_days"})
    bakery = Bakery.objects.get()
    assert (bakery.horizon_days, bakery.closed_days) == (10, "Mon")
