"""The base page and the small templates, rendered with plain values."""

import re
from datetime import date
from pathlib import Path

import django_tables2 as tables
import pytest
from django import forms
from django.conf import settings
from django.template import engines, loader
from django.test import RequestFactory

from planning.web.shelf.shelf_line import ShelfDay, ShelfLine

TEMPLATES = Path(settings.BASE_DIR) / "templates"


class CakeForm(forms.Form):
    size = forms.CharField(help_text="Write the shape too.")
    cold = forms.BooleanField(required=False)
    secret = forms.CharField(widget=forms.HiddenInput, required=False)

    def clean_size(self):
        raise forms.ValidationError("“8 inches” is not a size.")


class ItemTable(tables.Table):
    caption = "What is on the shelves, as of today."
    item = tables.Column()
    on_hand = tables.Column("On hand", attrs={"td": {"class": "num"}})

    class Meta:
        order_by = "item"
        empty_text = "Nothing is on the shelves yet."


def component(file_name, **context):
    return loader.render_to_string(f"components/{file_name}.html", context)


def page(source, path="/"):
    template = engines["django"].from_string('{% extends "base.html" %}' + source)
    return template.render({"request": RequestFactory().get(path)})


def table_markup(rows):
    return component("table", table=ItemTable(rows), request=RequestFactory().get("/"))


def test_a_page_says_its_name_in_the_tab_and_in_its_one_heading():
    markup = page("{% block title %}Count of {{ 1|add:1 }} & more{% endblock %}")

    assert "<title>Count of 2 & more · Tierlarder</title>" in markup
    assert re.findall(r"<h1>(.*?)</h1>", markup) == ["Count of 2 & more"]


def test_a_page_without_a_lead_or_actions_leaves_both_frames_empty():
    markup = page("{% block title %}Orders{% endblock %}")

    # the stylesheet hides them, which it can only do when not even a blank is inside
    assert '<p class="lead"></p>' in markup
    assert '<div class="actions"></div>' in markup


def test_a_page_can_be_skipped_to_and_names_its_language():
    markup = page("{% block title %}Orders{% endblock %}")

    assert '<html lang="en-US">' in markup
    assert markup.index('href="#page"') < markup.index('<main id="page"')


@pytest.mark.parametrize("name", ["404", "403", "403_csrf", "500", "503"])
def test_a_page_of_regret_stands_without_any_context(name):
    markup = loader.get_template(f"{name}.html").render()

    assert markup.count("<h1>") == 1
    assert 'href="/"' in markup


def test_a_faulty_field_keeps_the_entry_and_names_its_fault_beside_it():
    form = CakeForm({"size": "8 inches <b>"})
    form.full_clean()

    markup = component("form_field", field=form["size"])

    assert 'value="8 inches &lt;b&gt;"' in markup
    assert 'aria-describedby="id_size_helptext id_size_error"' in markup
    assert 'id="id_size_helptext">Write the shape too.<' in markup
    fault = re.search(r'id="id_size_error">\s*<p>(.*?)</p>', markup)
    assert fault[1] == "“8 inches” is not a size."


def test_a_form_shows_every_field_and_one_button():
    markup = component("form", form=CakeForm(), label="Save this cake")

    for name in ("size", "cold", "secret"):
        assert markup.count(f'name="{name}"') == 1
    assert markup.count("<button") == 1
    assert "Save this cake" in markup


def test_a_post_button_is_a_form_with_its_hidden_field():
    markup = component(
        "post_button", action="/orders/7/drop/", label="Drop", name="key", value="a<b"
    )

    assert '<form class="post-button" action="/orders/7/drop/" method="post">' in markup
    assert '<input type="hidden" name="key" value="a&lt;b">' in markup


def test_a_table_shows_every_row_however_many():
    markup = table_markup([{"item": f"item {n:03}", "on_hand": n} for n in range(300)])

    assert markup.count('<th scope="row"') == 300


def test_a_table_says_what_it_is_and_how_it_is_sorted():
    markup = table_markup([{"item": "flour", "on_hand": 3}])

    assert "<caption><span>What is on the shelves, as of today.</span></caption>" in (
        markup
    )
    assert len(re.findall(r'aria-sort="ascending"', markup)) == 1


def test_an_empty_table_says_so():
    assert "Nothing is on the shelves yet." in table_markup([])


def test_the_table_of_a_shelf_line_is_one_tap_away_with_its_unit():
    day = ShelfDay(date(2025, 11, 25), -1361.4, 0, 2268, 0, True, False)
    line = ShelfLine("butter", "g", (day,))

    markup = component("shelf_table", line=line)

    details = markup[markup.index("<details>") :]
    assert "Day by day, in g" in details
    assert "\N{MINUS SIGN}1,361" in details
    assert "2,268" in details


def test_facts_carry_their_words():
    markup = component("facts", facts=[("Last count", "6 days ago", "by Maria")])

    assert '<span class="figure">6 days ago</span> by Maria' in markup


def test_every_component_says_what_it_takes():
    for path in (TEMPLATES / "components").glob("*.html"):
        assert path.read_text(encoding="utf-8").startswith("{% comment %}"), path.name


def test_no_template_carries_a_style_or_a_script_of_its_own():
    for path in TEMPLATES.rglob("*.html"):
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"\sstyle=|<style|\son[a-z]+=", text), path.name
        assert all("src=" in tag for tag in re.findall(r"<script[^>]*>", text))


def test_our_table_is_the_one_that_every_table_is_shown_with():
    assert settings.DJANGO_TABLES2_TEMPLATE == "components/table.html"
