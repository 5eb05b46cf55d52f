"""Examples in README, help and pages are their own, and none of the demo's recipes."""

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import get_commands, load_command_class

from planning.demo import build_sheets
from planning.entry.sheets import SHEETS
from tests.planning.test_demo_kitchen import A_SATURDAY

ROOT = Path(settings.BASE_DIR)
UNITS = "cup|lb|oz|stick|tbsp|tsp|kg|g|mL|quart|gallon|each|dozen|pinch|dash"
# Alone: in `2 cases + 6 lb` the pounds are part of another quantity.
EXAMPLE = re.compile(rf"(?<![\w./])(?<!\+ )(?<!cases )(\d[\d ./]*?) ?({UNITS})s?\b")
COMMENT = re.compile(r"{% comment %}.*?{% endcomment %}", re.DOTALL)


def quantities(text):
    """Each number with its unit; one of a unit is what a unit is, and no example."""
    found = {f"{number.strip()} {unit}" for number, unit in EXAMPLE.findall(text)}
    return {quantity for quantity in found if not re.match("1 [a-zA-Z]", quantity)}


def of_the_demo():
    sheets = build_sheets(A_SATURDAY)
    lines = {row["quantity"] for row in sheets["Recipe lines"]}
    return lines | {row["yields"] for row in sheets["Recipes"]}


def helps():
    for name, app in get_commands().items():
        if app in ("stock", "planning"):
            yield name, load_command_class(app, name).create_parser("", name)


TEXTS = {
    "README": (ROOT / "README.md").read_text(encoding="utf-8"),
    **{
        path.name: COMMENT.sub("", path.read_text(encoding="utf-8"))
        for path in (ROOT / "templates").rglob("*.html")
    },
    **{
        f"{sheet.name}.{column.name}": column.help
        for sheet in SHEETS
        for column in sheet.columns
    },
}


def test_a_quantity_is_found_as_it_stands_in_a_text():
    text = "`3 cases + 4 lb`, 2 1/3 cup of it, 1 1/2 cups, 0.5 tsp; 1 cup = 125 g"

    assert quantities(text) == {"2 1/3 cup", "1 1/2 cup", "0.5 tsp", "125 g"}


@pytest.mark.parametrize("name", TEXTS)
def test_what_is_shown_stands_in_no_recipe_of_the_demo(name):
    assert quantities(TEXTS[name]) & of_the_demo() == set()


def test_no_command_s_help_takes_its_example_from_the_demo():
    said = {name: quantities(parser.format_help()) for name, parser in helps()}

    assert said["convert"] == {"2 1/3 cup"}
    assert {name: found & of_the_demo() for name, found in said.items()} == {
        name: set() for name in said
    }


def test_molasses_stands_in_two_or_three_cakes_of_the_bake_plan():
    sheets = build_sheets(A_SATURDAY)
    takers = {"molasses"}
    for _ in sheets["Recipes"]:
        takers |= {
            row["recipe"]
            for row in sheets["Recipe lines"]
            if row["component"] in takers
        }

    planned = [row for row in sheets["Bake plan"] if row["cake"] in takers]

    assert 2 <= len(planned) <= 3
    assert not any("molasses" in str(row["cake"]).casefold() for row in planned)
