"""Why so much is needed: safety and par, use-by dates, and what comes too late."""

from tests.engine import shelves
from tests.engine.ordering.random_kitchens import day
from tests.engine.ordering.reasoned import because, egg_whites


def test_safety_and_par_say_what_would_be_below_them():
    mill = [shelves.supplier("Mill", days=(1,))]
    pack = shelves.pack(0, 10, 5)
    [safety] = because(egg_whites(pack, suppliers=mill, safety=4.0), {}).values()
    [par] = because(egg_whites(pack, suppliers=mill, par=9.0), {}).values()

    assert safety[0] == ("Without it: egg whites below the safety of 4 g on Tue May 5.")
    assert par[0] == "Without it: egg whites below the par of 9 g on Sat May 9."


def test_what_comes_too_late_to_use_is_said_to_be_short_still():
    # The 50 g are used the day they come, a day before they can be: they stay owed
    # that day whatever is bought, and 5 packs make up for them.
    kitchen = egg_whites(
        shelves.pack(0, 10, 5),
        suppliers=[shelves.supplier("Mill", days=(5,), usable_next_day=True)],
    )

    [reasons] = because(kitchen, {(0, 5): 50}).values()

    assert reasons[0] == (
        "Without it: up to 50 g of egg whites still short after Sat May 9."
    )
    assert reasons[2].endswith(" hold 50 g for a need of 50 g.")


def test_only_what_is_left_on_its_last_day_goes_out_of_date():
    # Each keeps for its day. Of Tuesday's 10 g all are used, of Thursday's 2. Without
    # Tuesday's, Thursday's would all go for what was short, and none would be left.
    kitchen = egg_whites(
        shelves.pack(0, 10, 5),
        suppliers=[shelves.supplier("Mill", days=(1, 3))],
        keeps=1,
    )

    reasons = because(kitchen, {(0, 1): 10, (0, 3): 2})

    assert reasons["Mill", 1, "egg whites"][3] == (
        "What comes on Tue May 5 keeps until Tue May 5."
    )
    assert reasons["Mill", 3, "egg whites"][3] == (
        "What comes on Thu May 7 keeps until Thu May 7: 8 g of it will expire."
    )


def test_stock_of_the_same_use_by_does_not_count_as_bought():
    # 15 g of stock and 10 more for the safety of 20 all go out of date unused.
    kitchen = shelves.kitchen(
        shelves.items({"name": "egg whites", "safety": 20.0, "keeps": 1}),
        lots=[(0, 15, day(1))],
        suppliers=[shelves.supplier("Mill", days=(1,))],
        packs=[shelves.pack(0, 10, 5)],
        leftover_worth=0.0,
    )

    [reasons] = because(kitchen, {}).values()

    assert reasons[3] == (
        "What comes on Tue May 5 keeps until Tue May 5: 10 g of it will expire."
    )


def test_the_need_of_a_line_counts_nine_tenths_of_par():
    # 20 g are used, and 9 of 10 are to stand there at the end: 29, in 3 packs.
    kitchen = egg_whites(
        shelves.pack(0, 10, 5),
        suppliers=[shelves.supplier("Mill", days=(1,))],
        safety=4.0,
        par=10.0,
    )

    [reasons] = because(kitchen, {(0, 3): 20}).values()

    assert reasons[2].endswith(" for a need of 29 g, nine tenths of par counted.")


def test_the_need_of_a_line_counts_safety_where_no_par_day_asks_for_more():
    kitchen = egg_whites(
        shelves.pack(0, 10, 5),
        suppliers=[shelves.supplier("Mill", days=(1,))],
        safety=4.0,
    )

    [reasons] = because(kitchen, {(0, 3): 20}).values()

    assert reasons[2].endswith(" for a need of 24 g, safety counted.")


def test_a_line_for_a_par_day_names_that_day():
    mill = [shelves.supplier("Mill", days=(1,))]
    kitchen = egg_whites(shelves.pack(0, 10, 5), suppliers=mill, par=40.0)

    [reasons] = because(kitchen, {}, days=14).values()

    assert reasons[0] == ("Without it: egg whites below the par of 40 g on Sun May 10.")


def needed_by(*cakes_by_day):
    """Tell which cakes need an item, of one cake a day."""
    return lambda _, days: [cake for on, cake in cakes_by_day if on in days]


def test_what_is_short_since_an_earlier_cake_counts_that_cake_too():
    # Friday's 50 g can be had by nobody; what comes on Saturday makes up for them, and
    # serves Saturday's 10 g. Of the 60 that would be short then, 50 are cake A's.
    kitchen = egg_whites(
        shelves.pack(0, 10, 5), suppliers=[shelves.supplier("Mill", days=(5,))]
    )
    cakes = needed_by((day(4), "B"), (day(5), "A"))

    [reasons] = because(kitchen, {(0, 4): 50, (0, 5): 10}, cakes_behind=cakes).values()

    assert reasons[0] == (
        "Without it: egg whites out on Sat May 9, up to 60 g short, for 2 cakes, first "
        "Fri May 8."
    )


def test_what_is_still_short_is_for_the_cake_that_it_came_too_late_for():
    kitchen = egg_whites(
        shelves.pack(0, 10, 5),
        suppliers=[shelves.supplier("Mill", days=(5,), usable_next_day=True)],
    )
    cakes = needed_by((day(3), "B"))

    [reasons] = because(kitchen, {(0, 3): 50}, cakes_behind=cakes).values()

    assert reasons[0].startswith("Without it: up to 50 g of egg whites still short")
    assert reasons[0].endswith(", for Torte, Fri May 8 (B).")
