"""Quantities and sizes of the calculator, against figures in the margin."""

from fractions import Fraction

import pytest

from tests.reference import sizes
from tests.reference.quantities import Measure, QuantityError, read_equivalents


class TestQuantities:
    @pytest.mark.parametrize(
        ("text", "grams"),
        [
            ("125g", 125),
            ("0.4 kg", 400),
            ("1 lb 4 oz", Fraction("566.9904625")),  # 20 x 28.349523125
            ("3 1/2 lb", Fraction("1587.573295")),
            ("1½ kg", 1500),
            ("¾ cup", Fraction("93.75")),  # of 125 g
            ("2 tubs + 1/2 Stick", 2 * 400 + 50),
            ("1 tbsp", 8),  # its own equivalent
            ("1 tsp", Fraction(125, 48)),  # by the cup, the largest
            ("2 pinch", Fraction(125, 48 * 8)),
            ("1 dash", Fraction(125, 48 * 8)),
            ("2 fl oz", Fraction(125, 4)),
            ("0 g", 0),
        ],
    )
    def test_flour_by_mass(self, text, grams):
        equivalents = read_equivalents("Flour", "mass", "1 cup = 125 g; 8 g = 1 tbsp")
        flour = Measure("Flour", "mass", equivalents, {"tub": 400, "stick": 100})

        assert flour.amount(text) == grams

    @pytest.mark.parametrize(
        ("text", "eggs"), [("½ dozen", 6), ("150 g", 3), ("1 kg + 2 each", 22)]
    )
    def test_eggs_by_count(self, text, eggs):
        equivalents = read_equivalents("Egg", "count", "1 each = 50 g")

        assert Measure("Egg", "count", equivalents).amount(text) == eggs

    @pytest.mark.parametrize(
        "text", ["12", "8 oz", "1,5 L", "-1 L", "1 L +", "", "L", "2 each", "1 batch"]
    )
    def test_cream_without_a_weight_refuses(self, text):
        with pytest.raises(QuantityError):
            Measure("Cream", "volume").amount(text)

    def test_ounces_of_cream_go_through_its_weight(self):
        equivalents = read_equivalents("Cream", "volume", "1 cup = 8 oz")

        cream = Measure("Cream", "volume", equivalents)

        assert cream.amount("4 oz") == Fraction("118.29411825")
        assert cream.amount("4 oz") == cream.amount("½ cup")


class TestSizes:
    @pytest.mark.parametrize(
        ("scales_with", "size", "base", "expected"),
        [
            ("volume", "10 in round x 3", "8 in round x 3", Fraction(25, 16)),
            ("volume", "6 in round x 2", "8 in round x 3", Fraction(3, 8)),
            ("filling", "8 in round x 4", "8 in round x 3", Fraction(3, 2)),
            ("tier", "8 in round x 2 + 6 in round x 2", "8 in round x 3", 2),
            ("cake", "8 in round x 2 + 6 in round x 2", "8 in round x 3", 1),
            ("", "10 in square x 4", "8 in round x 3", 1),
            ("volume", "", "8 in round x 3", 1),
            ("volume", "20.32 cm square x 3", "8 in square x 3", 1),
            # 9 x 13 + 44 x 1.5 x 2 = 249; 100 + 40 x 1.5 x 4 = 340
            (
                "surface",
                "9 x 13 in sheet x 2",
                "10 in square x 4",
                Fraction(249, 340),
            ),
        ],
    )
    def test_factor(self, scales_with, size, base, expected):
        assert sizes.factor(scales_with, size, base, Fraction(3, 2)) == expected

    def test_a_single_layer_has_no_filling_to_scale_by(self):
        with pytest.raises(sizes.SizeError):
            sizes.factor("filling", "8 in round x 3", "8 in round x 1", Fraction(3, 2))
