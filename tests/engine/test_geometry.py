import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.engine.demand import geometry
from planning.engine.demand.geometry import Shape, Tier
from planning.engine.kitchen import Scale
from planning.errors import SizeError

LAYER_HEIGHT_CM = 3.81  # 1.5 in
CUP_ML = 236.5882365  # NIST Handbook 44 App. C, section 5
ML_PER_CUBIC_INCH = 16.387064  # 16 CFR 500.19: the inch is 2.54 cm exactly


def inches(number):
    return float(number) * 2.54


def round_tier(across, unit, layers):
    return Tier(Shape.ROUND, Fraction(across), Fraction(across), unit, layers)


@pytest.mark.parametrize(
    ("text", "tiers"),
    [
        ("8 in round x 3", [round_tier(8, "in", 3)]),
        ("20 cm round \N{MULTIPLICATION SIGN} 2", [round_tier(20, "cm", 2)]),
        ("9½in Round x1", [round_tier("19/2", "in", 1)]),
        ("9 1/2 in round x 1", [round_tier("19/2", "in", 1)]),
        (
            " 10 in round x 3+6.5 in round x 2 ",
            [round_tier(10, "in", 3), round_tier("6.5", "in", 2)],
        ),
        (
            "9 x 13 in sheet x 2",
            [Tier(Shape.SHEET, Fraction(9), Fraction(13), "in", 2)],
        ),
        (
            "10 in square x 4",
            [Tier(Shape.SQUARE, Fraction(10), Fraction(10), "in", 4)],
        ),
    ],
)
def test_a_size_is_read_as_people_write_it(text, tiers):
    assert geometry.parse_size(text) == tuple(tiers)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "isn't a size: write tiers like"),
        ("8 round x 3", "in or cm"),
        ("8 in round", "how many layers"),
        ("8 in round x 0", "how many layers"),
        ("8 in round x 2.5", "isn't a size: write tiers like"),
        ("0 in round x 2", "above 0"),
        ("-8 in round x 2", "isn't a size: write tiers like"),
        ("8,5 in round x 2", "isn't a size: write tiers like"),
        ("1/0 in round x 2", "divided by 0"),
        ("8 x 9 in round x 2", "two sides"),
        ("13 in sheet x 2", "two sides"),
        ("9 in x 33 cm sheet x 2", "same unit"),
        ("8 in round x 3 +", "isn't a size: write tiers like"),
        ("8 in heart x 3", "isn't a size: write tiers like"),
    ],
)
def test_a_size_that_cannot_be_read_says_what_to_write(text, says):
    with pytest.raises(SizeError, match=says) as caught:
        geometry.parse_size(text)

    assert repr(text) in str(caught.value)


sides = st.one_of(
    st.integers(1, 99).map(Fraction),
    st.builds(lambda n, d: n + Fraction(1, d), st.integers(0, 99), st.integers(2, 64)),
    st.integers(1, 99_999).map(lambda n: Fraction(n, 1000)),
)


@st.composite
def tiers(draw):
    shape = draw(st.sampled_from(Shape))
    across = draw(sides)
    along = draw(sides) if shape is Shape.SHEET else across
    return Tier(
        shape,
        across,
        along,
        draw(st.sampled_from(["in", "cm"])),
        draw(st.integers(1, 9)),
    )


@given(st.lists(tiers(), min_size=1, max_size=4).map(tuple))
def test_what_is_written_reads_back_the_same(written):
    assert geometry.parse_size(geometry.write_size(written)) == written


@pytest.mark.parametrize(
    ("row", "size", "square_inches"),
    [
        # Sheet-pan table, nominal outside sizes: A-48.
        ("full", "26 x 18 in sheet x 1", 468),
        ("three-quarter", "21 x 15 in sheet x 1", 315),
        ("half", "18 x 13 in sheet x 1", 234),
        ("quarter", "13 x 9 in sheet x 1", 117),
    ],
)
def test_sheet_pans_have_their_published_areas(row, size, square_inches):
    (tier,) = geometry.parse_size(size)

    assert tier.area_cm2 / 2.54**2 == pytest.approx(square_inches, rel=1e-12)


def test_two_half_sheets_are_a_full_one_and_two_quarters_a_half():
    full, half, quarter = (
        geometry.parse_size(f"{sides} in sheet x 1")[0].area_cm2
        for sides in ("26 x 18", "18 x 13", "13 x 9")
    )

    assert 2 * half == pytest.approx(full)
    assert 2 * quarter == pytest.approx(half)


@pytest.mark.parametrize(
    ("diameter_in", "cubic_inches", "cups"),
    [  # pi/4 d^2 h to the brim, 2 in deep; 16 cups are 231 cubic inches
        (6, 56.549, 3.917),
        (8, 100.531, 6.963),
        (9, 127.235, 8.813),
        (10, 157.080, 10.880),
    ],
)
def test_a_round_pan_holds_its_published_volume(diameter_in, cubic_inches, cups):
    [tier] = geometry.parse_size(f"{diameter_in} in round x 1")

    volume_ml = tier.area_cm2 * inches(2)

    assert volume_ml / ML_PER_CUBIC_INCH == pytest.approx(cubic_inches, abs=5e-4)
    assert volume_ml / CUP_ML == pytest.approx(cups, abs=5e-4)


@pytest.mark.parametrize(
    ("diameter_in", "factor"),
    [(10, 1.5625), (6, 0.5625), (12, 2.25)],  # (d2 / d1)^2
)
def test_round_pans_of_one_depth_grow_with_the_square(diameter_in, factor):
    factors = geometry.scale_factors(
        f"{diameter_in} in round x 3", "8 in round x 3", LAYER_HEIGHT_CM
    )

    assert factors[Scale.VOLUME] == pytest.approx(factor, rel=1e-12)
    assert factors[Scale.FILLING] == pytest.approx(factor, rel=1e-12)


@pytest.mark.parametrize(
    ("what", "cups", "depth_cm"),
    [  # common practice, no source
        ("batter in an 8-inch round pan", 4 / 3, 0.973),
        ("frosting on an 8-inch layer", 3 / 4, 0.547),
    ],
)
def test_how_deep_cups_lie_on_a_round(what, cups, depth_cm):
    [tier] = geometry.parse_size("8 in round x 1")

    assert cups * CUP_ML / tier.area_cm2 == pytest.approx(depth_cm, abs=5e-4)


def test_sums_by_hand_for_a_square_of_ten_centimeters():
    sums = geometry.scale_sums(geometry.parse_size("10 cm square x 3"), 4.0)

    # A = 100, P = 40: volume 300, filling 200, surface 100 + 40 * 4 * 3.
    assert sums[Scale.CAKE] == 1
    assert sums[Scale.TIER] == 1
    assert sums[Scale.VOLUME] == 300
    assert sums[Scale.FILLING] == 200
    assert sums[Scale.SURFACE] == 580


def test_sums_of_tiers_add_up():
    sums = geometry.scale_sums(
        geometry.parse_size("20 cm round x 3 + 10 x 20 cm sheet x 1"), 5.0
    )

    # Round: A = 100 pi, P = 20 pi. Sheet: A = 200, P = 60.
    assert sums[Scale.TIER] == 2
    assert sums[Scale.VOLUME] == pytest.approx(300 * math.pi + 200)
    assert sums[Scale.FILLING] == pytest.approx(200 * math.pi)
    assert sums[Scale.SURFACE] == pytest.approx(
        100 * math.pi + 20 * math.pi * 15 + 200 + 60 * 5
    )


def test_a_blank_size_is_the_base_size():
    factors = geometry.scale_factors("", "8 in round x 3", LAYER_HEIGHT_CM)

    assert factors.tolist() == [1, 1, 1, 1, 1]


def test_a_single_layer_gives_filling_nothing_to_go_by():
    factors = geometry.scale_factors(
        "8 in round x 2", "8 in round x 1", LAYER_HEIGHT_CM
    )

    assert np.isnan(factors[Scale.FILLING])
    assert factors[Scale.VOLUME] == 2


def test_without_a_base_size_only_the_cake_itself_counts():
    factors = geometry.scale_factors("8 in round x 2", "", LAYER_HEIGHT_CM)

    assert factors[Scale.CAKE] == 1
    assert np.isnan(factors[1:]).all()
