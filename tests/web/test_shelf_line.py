"""The shelf line's drawing, read back as XML and checked against hand-made figures."""

import xml.etree.ElementTree as ET
from datetime import date, timedelta
from decimal import Decimal

import pytest

from planning.web.shelf.shelf_line import FRAMES, ShelfDay, ShelfLine, draw

TUESDAY = date(2025, 11, 25)


def a_day(place, closing, *, received=0, short=False, low=False, par_day=False):
    return ShelfDay(
        on=TUESDAY + timedelta(days=place),
        closing_base=closing,
        received_base=received,
        used_base=0,
        expired_base=0,
        is_short=short,
        below_safety=low,
        is_par_day=par_day,
        below_par=par_day and closing < 0,
    )


def a_line(closings, *, short=(), deliveries=(), low=(), par_days=(), **levels):
    days = tuple(
        a_day(
            place,
            closing,
            received=50 if place in deliveries else 0,
            short=place in short,
            low=place in low,
            par_day=place in par_days,
        )
        for place, closing in enumerate(closings)
    )
    levels = {"item_name": "butter", "unit_words": "g"} | levels
    return ShelfLine(days=days, **levels)


def picture(line, size="row"):
    return ET.fromstring(draw(line, size))  # noqa: S314 (our own text)


def of_class(root, name):
    return [e for e in root.iter() if name in e.get("class", "").split()]


def share(text):
    assert text.endswith("%")
    return float(text[:-1]) / 100


def hatched_days(root, days):
    hatched = set()
    for patch in of_class(root, "shelf-short"):
        first = round(share(patch.get("x")) * days, 3)
        width = round(share(patch.get("width")) * days, 3)
        assert first == int(first)
        assert width == int(width)
        hatched |= set(range(int(first), int(first + width)))
    return hatched


@pytest.mark.parametrize("size", FRAMES)
@pytest.mark.parametrize(
    "short", [set(), {0}, {7}, {2, 3, 6}, {0, 1, 2, 3, 4, 5, 6, 7}]
)
def test_hatching_covers_the_short_days_and_no_other(short, size):
    root = picture(a_line([100] * 8, short=short), size)

    assert hatched_days(root, days=8) == short


def test_neighbouring_short_days_share_one_patch():
    root = picture(a_line([1, 1, 1, 1, 1], short={1, 2, 4}))

    assert len(of_class(root, "shelf-short")) == 2


def test_a_tick_stands_under_the_middle_of_each_delivery_day():
    root = picture(a_line([10, 60, 60, 110], deliveries={1, 3}))

    ticks = of_class(root, "shelf-tick")
    assert [tick.get("x1") for tick in ticks] == ["37.5%", "87.5%"]
    assert all(tick.get("x1") == tick.get("x2") for tick in ticks)
    assert all(float(tick.get("y1")) > FRAMES["row"].floor for tick in ticks)


@pytest.mark.parametrize("size", FRAMES)
def test_levels_stand_in_proportion_to_the_fullest_day(size):
    frame = FRAMES[size]
    root = picture(a_line([200, 100], safety_base=50, par_base=Decimal(150)), size)

    floor, safety, par = (
        float(of_class(root, name)[0].get("y1"))
        for name in ("shelf-floor", "shelf-safety", "shelf-par")
    )
    assert floor == frame.floor
    # par is three times safety, so it stands three times as high above the floor
    assert floor - par == pytest.approx(3 * (floor - safety), abs=0.05)
    # 200 is the fullest: with 6 % of headroom, 150 stands at 150/212 of the room
    room = frame.floor - frame.plot_top
    assert floor - par == pytest.approx(room * 150 / 212, abs=0.01)


def test_a_level_above_every_day_sets_the_scale():
    root = picture(a_line([10], par_base=100))

    # room in a row is 30 px: 30 / 1.06 = 28.30 above a floor at 32
    assert float(of_class(root, "shelf-par")[0].get("y1")) == pytest.approx(3.70)


def test_the_par_line_is_heavy_on_par_days_alone():
    root = picture(a_line([10, 10, 10, 10], par_base=100, par_days={1, 3}))

    marks = of_class(root, "shelf-par-day")
    (par,) = of_class(root, "shelf-par")
    assert [(mark.get("x1"), mark.get("x2")) for mark in marks] == [
        ("25%", "50%"),
        ("75%", "100%"),
    ]
    assert {mark.get("y1") for mark in marks} == {par.get("y1")}


def test_an_item_without_par_has_no_par_days():
    assert of_class(picture(a_line([10, 10])), "shelf-par-day") == []


def test_the_text_alternative_names_par_days():
    line = a_line([900, -1250, 40], par_days={1, 2}, par_base=1000)

    words = picture(line).find("desc").text

    assert "Below par on Wed Nov 26." in words
    assert words.endswith("Par asked for on Wed Nov 26 and Thu Nov 27.")


@pytest.mark.parametrize("level", [None, 0, Decimal(0)])
def test_a_level_of_nothing_has_no_line(level):
    root = picture(a_line([10], safety_base=level, par_base=level), "item")

    assert of_class(root, "shelf-safety") == of_class(root, "shelf-par") == []


def test_the_area_steps_from_day_to_day():
    root = picture(a_line([106, 53, 53, 0]))

    # 106 is the fullest: of 30 px, 100/106 = 28.30, half of that is 14.15, 0 is 0
    edge = of_class(root, "shelf-edge")[0].get("d")
    assert edge == "M0 3.7V3.7H1V17.85H3V32H4"
    assert of_class(root, "shelf-area")[0].get("d") == "M0 32V3.7H1V17.85H3V32H4V32Z"


def test_days_below_safety_carry_a_heavier_edge():
    root = picture(a_line([100, 0, 100], low={1}))

    assert of_class(root, "shelf-low")[0].get("d") == "M1 32h1"


@pytest.mark.parametrize("size", FRAMES)
@pytest.mark.parametrize(
    "closings",
    [[], [0], [-5, -7], [-1e15, 1e15], [Decimal("0.0001")], [3, -3] * 45],
    ids=["no days", "nothing", "only lacks", "huge", "tiny", "90 days"],
)
def test_nothing_is_drawn_outside_the_frame(closings, size):
    frame = FRAMES[size]
    root = picture(a_line(closings, safety_base=2, par_base=4), size)

    for line in root.iter("line"):
        if line.get("class") != "shelf-hatch":
            assert 0 <= float(line.get("y1")) <= frame.height
            assert 0 <= float(line.get("y2")) <= frame.height
    for text in root.iter("text"):
        assert 0 <= float(text.get("y")) <= frame.height
        assert 0 <= float(text.get("x").rstrip("%")) <= 100
    for path in of_class(root, "shelf-edge"):
        heights = [float(p.split("H")[0]) for p in path.get("d").split("V")[1:]]
        assert all(frame.plot_top <= height <= frame.floor for height in heights)


def test_less_than_nothing_stands_on_the_floor():
    root = picture(a_line([50, -50]))

    assert of_class(root, "shelf-edge")[0].get("d").endswith("V32H2")


def test_the_text_alternative_says_what_the_picture_shows():
    line = a_line(
        [900, -1250, 40],
        short={1},
        low={2},
        deliveries={2},
        safety_base=60,
        par_base=1000,
        par_words="2 cases",
    )
    root = picture(line)

    assert root.get("role") == "img"
    assert root.find("title").text == "butter, Tue Nov 25 to Thu Nov 27"
    assert root.find("desc").text == (
        "On the shelf after Tue Nov 25: 900 g. On the shelf after Thu Nov 27: 40 g. "
        "Short on Wed Nov 26. Below safety on Thu Nov 27. Delivery on Thu Nov 27. "
        "Safety 60 g. Par 2 cases."
    )


def test_many_short_days_are_counted_instead_of_listed():
    root = picture(a_line([-1] * 10, short=set(range(10))))

    assert "Short on 10 days, from Tue Nov 25 to Thu Dec 4." in root.find("desc").text


def test_a_day_that_is_short_is_not_said_to_be_below_safety_too():
    line = a_line([30, -5], short={1}, low={0, 1}, safety_base=60)

    said = picture(line).find("desc").text

    assert "Short on Wed Nov 26. Below safety on Tue Nov 25." in said


def test_a_lack_is_written_with_a_minus_sign():
    root = picture(a_line([-1250]))

    assert "Nov 25: \N{MINUS SIGN}1,250 g." in root.find("desc").text


def test_names_are_escaped():
    name = 'M&M\'s <b onload="x">'
    line = a_line([5], item_name=name, par_base=9, par_words="<i>2</i>")

    markup = draw(line, "item")

    assert "<b" not in markup
    assert "<i>" not in markup
    assert ET.fromstring(markup).find("title").text.startswith(name)  # noqa: S314 (our own text)


@pytest.mark.parametrize("size", FRAMES)
def test_no_style_script_or_id_is_written_into_the_picture(size):
    root = picture(a_line([9, 0, -3], short={2}, deliveries={1}, par_base=5), size)

    attributes = {name for element in root.iter() for name in element.attrib}
    assert attributes.isdisjoint({"style", "id", "onload"})
    assert not list(root.iter("style"))


@pytest.mark.parametrize(
    ("days", "weekdays", "dates"),
    [
        (3, ["Tu", "We", "Th"], ["Nov 25"]),
        (14, ["Tu", "We", "Th", "Fr", "Sa", "Su", "Mo"] * 2, ["Nov 25", "Dec 2"]),
        # the third week would begin at the right edge, where its date has no room
        (15, ["Tu", "We", "Th", "Fr", "Sa", "Su", "Mo"] * 2 + ["Tu"], None),
        (28, [], ["Nov 25", "Dec 2", "Dec 9", "Dec 16"]),
        (90, [], ["Nov 25", "Dec 16", "Jan 6", "Jan 27"]),
    ],
)
def test_the_days_are_named_as_far_as_there_is_room(days, weekdays, dates):
    root = picture(a_line([1] * days), "item")

    assert [e.text for e in of_class(root, "shelf-weekday")] == weekdays
    assert [e.text for e in of_class(root, "shelf-date")] == (
        dates or ["Nov 25", "Dec 2"]
    )


def test_a_row_carries_no_words():
    assert not list(picture(a_line([5, 5], safety_base=2)).iter("text"))


def test_level_words_keep_out_of_each_other():
    root = picture(a_line([900] * 14, safety_base=500, par_base=510), "item")

    safety, par = of_class(root, "shelf-words")
    same_end = safety.get("x") == par.get("x")
    assert not same_end or abs(float(safety.get("y")) - float(par.get("y"))) >= 13


def test_level_words_leave_the_end_where_days_are_short():
    closings = [-1] * 5 + [900] * 9
    root = picture(a_line(closings, short=set(range(5)), safety_base=300), "item")

    assert of_class(root, "shelf-words")[0].get("x") == "100%"
