"""A name that nothing has is met with the nearest ones, or with none."""

import pytest

from stock.wording.names import most_alike, nearest, offered, person_name, unknown

CAKES = [
    "Lemon curd cake",
    "Raspberry vanilla cake",
    "Chocolate hazelnut cake",
    "Gingerbread cake",
    "Strawberry mascarpone sheet cake",
    "Honey almond wedding cake",
]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("Lemon cake", "Lemon curd cake"),
        ("lemon", "Lemon curd cake"),
        ("lemmon curd cake", "Lemon curd cake"),
        ("Wedding cake", "Honey almond wedding cake"),
        ("hazelnut choclate cake", "Chocolate hazelnut cake"),
        ("rasberry vanila", "Raspberry vanilla cake"),
        ("sheet-cake strawberry", "Strawberry mascarpone sheet cake"),
    ],
)
def test_the_name_that_shares_the_words_that_tell_is_first(typed, meant):
    assert most_alike(typed, CAKES, most=3)[0] == meant


@pytest.mark.parametrize("typed", ["Carrot cake", "Lime cake", "cake 2", "", "!?", "x"])
def test_a_word_that_every_name_has_makes_none_like_another(typed):
    assert most_alike(typed, CAKES, most=3) == []


def test_without_its_likes_the_name_is_met_with_none():
    assert nearest("Lemon cake", CAKES[1:]) is None


def test_words_that_are_cut_otherwise_are_the_same():
    assert nearest("butter milk", ["butter", "milk", "buttermilk"]) == "buttermilk"
    assert nearest("butermilk", ["milk", "butter milk"]) == "butter milk"


def test_the_most_alike_stands_first_and_no_more_than_asked_for():
    known = ["bread flour", "cake flour", "all-purpose flour", "flour"]

    assert most_alike("flours", known, most=2)[0] == "flour"
    assert len(most_alike("flour", known, most=2)) <= 2


def test_a_long_name_is_quoted_in_part():
    assert unknown("item", "b" * 200, []) == f'There is no item "{"b" * 120}…".'


def test_without_its_likes_the_first_few_that_exist_are_listed():
    said = unknown("cake", "Gateau", CAKES)

    assert said.startswith('There is no cake "Gateau". The nearest are ')
    assert sum(cake in said for cake in CAKES) == 3


def test_where_little_exists_that_alone_is_said():
    assert offered("yeast", ["butter"], most=3) == " There is only butter."
    assert offered("yeast", [], most=3) == ""


class SignedIn:
    def __init__(self, full_name):
        self.full_name = full_name

    def get_username(self):
        return "mara"

    def get_full_name(self):
        return self.full_name


def test_people_are_called_by_their_name_else_by_their_sign_in():
    assert person_name(SignedIn("Mara Lind")) == "Mara Lind"
    assert person_name(SignedIn("")) == "mara"
    assert person_name(None, unknown="somebody") == "somebody"
