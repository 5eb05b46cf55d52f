from datetime import UTC, date, datetime, timedelta

from planning.engine.deliveries import possible_deliveries
from planning.engine.par_days import par_days
from tests.engine import shelves

SAT = date(2026, 11, 28)
TUESDAY, FRIDAY = 1, 4


def asked_on(kitchen, *, first=SAT, days=14, at=None, node=0):
    """The par days of an item as text, such as `11-29`."""
    window = shelves.window(first, days, at)
    asked = par_days(kitchen, window, possible_deliveries(kitchen, window))
    return [
        f"{first + timedelta(days=day):%m-%d}"
        for day in range(days)
        if asked[node, day]
    ]


def flour(*packs, suppliers=None, **item):
    """Flour with par, a truck each Tuesday that is ordered the day before."""
    return shelves.kitchen(
        shelves.items({"name": "flour", "par": 50.0, **item}),
        suppliers=suppliers or [shelves.supplier("Mill", [TUESDAY])],
        packs=packs or [shelves.pack(0, 10, 8)],
    )


def test_par_stands_on_sundays_from_the_first_truck_on_and_at_the_end():
    # Sun Nov 29 lies before the truck of Tue Dec 1; Fri Dec 11 is the last day.
    assert asked_on(flour()) == ["12-06", "12-11"]


def test_a_day_on_which_the_first_truck_comes_is_a_par_day():
    sundays = [shelves.supplier("Mill", [6])]

    assert asked_on(flour(suppliers=sundays)) == ["11-29", "12-06", "12-11"]


def test_a_truck_whose_cut_off_is_past_is_not_the_first():
    late = datetime(2026, 11, 30, 20, tzinfo=UTC)  # ordered by Mon 2 pm New York time

    assert asked_on(flour(), first=date(2026, 11, 30), at=late) == ["12-13"]


def test_the_bakery_says_on_which_weekdays():
    kitchen = shelves.kitchen(
        shelves.items({"name": "flour", "par": 50.0}),
        suppliers=[shelves.supplier("Mill", [TUESDAY])],
        packs=[shelves.pack(0, 10, 8)],
        par_weekdays=frozenset({2, 5}),
    )

    assert asked_on(kitchen) == ["12-02", "12-05", "12-09", "12-11"]


def test_the_preferred_packs_supplier_is_the_usual_one():
    suppliers = [shelves.supplier("Mill", [TUESDAY]), shelves.supplier("Wharf", [6])]
    dear, cheap = shelves.pack(0, 10, 9), shelves.pack(0, 10, 8, supplier=1)
    preferred = shelves.pack(0, 10, 9, preferred=True)

    # Wharf could come on Sun Nov 29, Mill on Tue Dec 1 only.
    by_price = asked_on(flour(dear, cheap, suppliers=suppliers))
    by_preference = asked_on(flour(preferred, cheap, suppliers=suppliers))

    assert by_price == ["11-29", "12-06", "12-11"]
    assert by_preference == ["12-06", "12-11"]


def test_else_it_is_the_cheapest_for_what_it_holds():
    mill, wharf = shelves.supplier("Mill", [FRIDAY]), shelves.supplier("Wharf", [6])
    packs = [shelves.pack(0, 10, 8), shelves.pack(0, 25, 19, supplier=1)]

    kitchen = flour(*packs, suppliers=[mill, wharf])

    assert asked_on(kitchen, days=4) == ["11-29", "12-01"]  # 0.76 is under 0.80


def test_what_nobody_can_deliver_is_asked_for_at_the_end_alone():
    unsold = flour(suppliers=[shelves.supplier("Mill", [TUESDAY])])
    unsold = shelves.kitchen(unsold.nodes, suppliers=unsold.suppliers)

    assert asked_on(unsold) == ["12-11"]
    assert asked_on(unsold, days=9) == ["12-06"]
    assert asked_on(flour(), days=3) == ["11-30"]  # the truck comes after the end


def test_what_keeps_under_a_week_is_asked_for_on_par_weekdays_alone():
    fridays = [shelves.supplier("Mill", [FRIDAY])]

    assert asked_on(flour(suppliers=fridays, keeps=6)) == ["12-06"]
    assert asked_on(flour(suppliers=fridays, keeps=7)) == ["12-06", "12-11"]
    assert asked_on(flour(suppliers=fridays, keeps=6), days=9) == ["12-06"]


def test_a_day_on_which_no_delivery_would_be_in_date_is_none():
    # What comes on Tuesday keeps to Saturday with 5 days, to Sunday with 6.
    assert asked_on(flour(keeps=5)) == []
    assert asked_on(flour(keeps=6)) == ["12-06"]
    # From Tue Dec 8 on it keeps to Fri Dec 11 at least, and 7 days are a week.
    assert asked_on(flour(keeps=7)) == ["12-06", "12-11"]
    # With the last day before the first truck nothing can be in date then.
    assert asked_on(flour(keeps=8), days=4) == ["12-01"]


def test_another_suppliers_delivery_can_be_in_date_too():
    packs = [shelves.pack(0, 10, 8), shelves.pack(0, 10, 9, supplier=1)]
    suppliers = [shelves.supplier("Mill", [0]), shelves.supplier("Wharf", [FRIDAY])]

    assert asked_on(flour(*packs, suppliers=suppliers, keeps=3)) == ["12-06"]


def test_while_its_usual_supplier_brings_nothing_another_moves_no_par_day():
    # Mill is closed all the while; Wharf comes on Fridays, in date on Sundays.
    packs = [shelves.pack(0, 10, 8, preferred=True), shelves.pack(0, 10, 9, supplier=1)]
    closed = frozenset({date(2026, 12, 1), date(2026, 12, 8)})
    mill = shelves.supplier("Mill", [TUESDAY], closed_on=closed)
    kitchen = flour(*packs, suppliers=[mill, shelves.supplier("Wharf", [FRIDAY])])
    short_lived = flour(
        *packs, suppliers=[mill, shelves.supplier("Wharf", [FRIDAY])], keeps=5
    )

    assert asked_on(kitchen) == ["12-11"]  # the end, whatever weekday it is
    assert asked_on(short_lived) == []  # the end is a Friday
    assert asked_on(short_lived, days=16) == ["12-13"]  # as plans end of themselves


def test_without_any_delivery_what_has_a_shelf_life_is_asked_for_at_the_end():
    assert asked_on(flour(keeps=20), days=3) == ["11-30"]
    assert asked_on(flour(keeps=3), days=2) == ["11-29"]
    assert asked_on(flour(keeps=3), days=3) == []  # a Monday


def test_no_par_no_par_day():
    assert asked_on(flour(par=0.0)) == []
    assert asked_on(flour(retired=True)) == []
