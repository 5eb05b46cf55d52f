"""What stands on the shelf, runs short and is ordered, one tiny kitchen a rule."""

from datetime import datetime

import pytest

from tests.reference.by_hand import usual_orders
from tests.reference.tiny import (
    KITCHEN,
    MONDAY,
    bakes,
    column,
    kitchen,
    needed,
    stock,
    worked,
)


class TestProjection:
    CAKE_ONLY = {
        "Recipe_lines": ["recipe,component,quantity", "Cake,Sugar,1 kg"],
    }  # one kilo on the 7th

    def test_a_lot_serves_through_its_last_day_and_expires_the_day_after(self):
        result = worked(
            **self.CAKE_ONLY,
            Stock=stock("Sugar,1500 g,2026-05-07", "Sugar,300 g,2026-05-01"),
        )

        assert column(result, "opening") == [1800, 1500, 1500, 1500, 500, 0, 0]
        assert column(result, "expired") == [300, 0, 0, 0, 500, 0, 0]
        assert result["shortfalls"] == []

    ORDER = [
        "order,supplier,item,pack,packs,due",
        "P1,Mill,Sugar,bag,1,2026-05-07",
    ]

    def test_a_next_day_delivery_stands_in_closing_but_cannot_serve(self):
        result = worked(**self.CAKE_ONLY, Open_orders=self.ORDER)

        assert column(result, "closing") == [0, 0, 0, 0, 0, 0, 0]
        (row,) = result["shortfalls"]
        assert (row["kind"], row["first_date"], row["short_by"], row["cakes"]) == (
            "out",
            "2026-05-07",
            1000,
            ["A"],
        )

    def test_a_same_day_delivery_serves_its_day(self):
        suppliers = [KITCHEN["Suppliers"][0], "Mill,Tue Fri,1,14:00,same day"]

        result = worked(**self.CAKE_ONLY, Open_orders=self.ORDER, Suppliers=suppliers)

        assert result["shortfalls"] == []

    def test_a_next_day_delivery_that_keeps_one_day_serves_nobody(self):
        # Received on the 8th, usable from the 9th, but keeps for one day: thrown out.
        items = [KITCHEN["Items"][0], "Sugar,mass,,,1"]
        order = [self.ORDER[0], "P1,Mill,Sugar,bag,2,2026-05-08"]

        result = worked(**self.CAKE_ONLY, Items=items, Open_orders=order)

        assert column(result, "closing") == [0, 0, 0, -1000, 1000, -1000, -1000]
        assert column(result, "expired") == [0, 0, 0, 0, 0, 2000, 0]

    def test_what_was_short_is_taken_from_what_becomes_usable_next(self):
        order = [self.ORDER[0], "P1,Mill,Sugar,bag,2,2026-05-08"]

        result = worked(**self.CAKE_ONLY, Open_orders=order)

        assert column(result, "closing") == [0, 0, 0, -1000, 1000, 1000, 1000]
        assert result["shortfalls"][0]["short_by"] == 1000

    def test_an_overdue_open_order_counts_for_nothing(self):
        order = [self.ORDER[0], "P1,Mill,Sugar,bag,2,2026-05-03"]

        result = worked(Open_orders=order, Bake_plan=bakes())

        assert column(result, "received") == [0] * 7
        assert len(result["warnings"]) == 1

    def test_an_open_order_due_on_a_closed_day_still_counts(self):
        result = worked(
            **self.CAKE_ONLY,
            Open_orders=[self.ORDER[0], "P1,Mill,Sugar,bag,1,2026-05-06"],
            Settings=["setting,value", "closed_on,2026-05-06"],
        )

        assert column(result, "received") == [0, 0, 1000, 0, 0, 0, 0]

    def test_a_retired_item_is_needed_but_not_projected(self):
        items = ["item,measure,retired", "Sugar,mass,yes"]

        result = worked(**self.CAKE_ONLY, Items=items)

        assert needed(result) == [("07", 1000, False)]
        assert (result["projection"], result["shortfalls"]) == ([], [])


class TestShortfalls:
    CAKE_ONLY = TestProjection.CAKE_ONLY

    def row(self, **changed):
        (row,) = worked(**self.CAKE_ONLY, **changed)["shortfalls"]
        return row["kind"], row["first_date"][8:], row["short_by"]

    @pytest.mark.parametrize(
        ("on_hand", "kind", "first", "short_by"),
        [
            ("400 g", "out", "07", 600),  # 1 000 - 400
            ("1200 g", "below safety", "07", 300),  # 500 - 200
            ("1 kg", "below safety", "07", 500),
            ("1700 g", "below par", "10", 1300),  # 2 000 - 700
        ],
    )
    def test_the_gravest_kind_is_told(self, on_hand, kind, first, short_by):
        items = [KITCHEN["Items"][0], "Sugar,mass,500 g,2 kg,"]

        told = self.row(Items=items, Stock=stock(f"Sugar,{on_hand},"))

        assert told == (kind, first, short_by)

    def test_safety_counts_from_the_first_day(self):
        items = [KITCHEN["Items"][0], "Sugar,mass,5 kg,,"]

        told = self.row(Items=items, Stock=stock("Sugar,2 kg,"))

        assert told == ("below safety", "04", 4000)

    def test_less_than_a_thousandth_is_no_lack(self):
        result = worked(**self.CAKE_ONLY, Stock=stock("Sugar,999.9991 g,"))

        assert result["shortfalls"] == []

    def test_par_counts_what_is_due_after_the_window(self):
        items = [KITCHEN["Items"][0], "Sugar,mass,,3 kg,"]
        order = [TestProjection.ORDER[0], "P1,Mill,Sugar,bag,1,2026-05-20"]

        told = self.row(Items=items, Stock=stock("Sugar,2 kg,"), Open_orders=order)

        assert told == ("below par", "10", 1000)

    @pytest.mark.parametrize(
        ("first", "on_hand", "due", "told", "deliver_on"),
        [
            # Sun Dec 6 closes at 52 kg; Fri Dec 11, the last day, at 44.
            ("2026-11-28", 60, ["12-05", "12-12"], ("below par", "11", 6000), "12-08"),
            # Sun Dec 6 is too early; Sun Dec 13 closes at 44, Fri Dec 18 at 36.
            ("2026-12-05", 52, ["12-12", "12-19"], ("below par", "13", 14000), "12-08"),
        ],
    )
    def test_par_stands_on_sundays_from_the_first_truck_on(
        self, first, on_hand, due, told, deliver_on
    ):
        """The example of the definition in kilos: 8 used Fridays, a truck Tuesdays."""
        cakes = [f"C{day},2026-{day},Cake,8" for day in due]
        truck = "Mill,Tue,1,14:00,next day"

        (row,) = worked(
            **self.CAKE_ONLY,
            at=f"{first}T09:00+00:00",
            days=14,
            Items=[KITCHEN["Items"][0], "Sugar,mass,,50 kg,"],
            Suppliers=[KITCHEN["Suppliers"][0], truck],
            Bake_plan=[KITCHEN["Bake plan"][0], *cakes],
            Stock=stock(f"Sugar,{on_hand} kg,"),
        )["shortfalls"]

        assert (row["kind"], row["first_date"][8:], row["short_by"]) == told
        assert row["remedy"]["deliver_on"] == f"2026-{deliver_on}"

    def test_nine_tenths_of_par_are_enough(self):
        items = [KITCHEN["Items"][0], "Sugar,mass,,2 kg,"]

        result = worked(**self.CAKE_ONLY, Items=items, Stock=stock("Sugar,2800 g,"))

        assert result["shortfalls"] == []

    @pytest.mark.parametrize(
        ("keeps", "told"),
        [
            (2, []),  # what comes on Fri May 8 is gone by Sun May 10
            (3, [("below par", "10")]),
            (6, [("below par", "10")]),  # and not on Mon May 11, the last day
            (7, [("below par", "10")]),
        ],
    )
    def test_what_has_a_shelf_life_is_asked_for_where_a_delivery_is_in_date(
        self, keeps, told
    ):
        items = [KITCHEN["Items"][0], f"Sugar,mass,,2 kg,{keeps}"]
        orders = [TestProjection.ORDER[0], "P1,Mill,Sugar,bag,1,2026-05-20"]

        result = worked(
            Items=items,
            Suppliers=[KITCHEN["Suppliers"][0], "Mill,Fri,1,14:00,next day"],
            Bake_plan=["reference,due,cake,quantity"],
            Open_orders=orders,
            days=8,
        )

        found = [(row["kind"], row["first_date"][8:]) for row in result["shortfalls"]]
        assert found == told
        assert all(row["short_by"] == 1000 for row in result["shortfalls"])

    @pytest.mark.parametrize(
        ("at", "deliver_on"),
        [
            ("2026-05-04T14:00+00:00", "2026-05-05"),
            ("2026-05-04T14:01+00:00", None),
        ],
    )
    def test_a_cut_off_equal_to_the_moment_is_in_time(self, at, deliver_on):
        remedy = worked(at=at, **self.CAKE_ONLY)["shortfalls"][0]["remedy"]

        assert (remedy and remedy["deliver_on"]) == deliver_on

    @pytest.mark.parametrize(
        ("mill", "corner", "supplier"),
        [
            (",2.00", ",1.00", "Corner"),  # cheaper
            ("yes,2.00", ",1.00", "Mill"),  # preferred
            (",2.00", ",2.00", "Corner"),  # by name
        ],
    )
    def test_ties_of_the_last_moment(self, mill, corner, supplier):
        row = self.remedy(mill, corner, "Tue Fri,1,14:00")

        assert row["supplier"] == supplier

    def test_the_latest_order_by_wins_over_preference(self):
        row = self.remedy("yes,1.00", ",9.00", "Wed,1,13:00")

        assert (row["supplier"], row["order_by"]) == (
            "Corner",
            "2026-05-05T13:00:00+00:00",
        )

    def remedy(self, mill, corner, corner_days):
        return worked(
            **self.CAKE_ONLY,
            Suppliers=[
                KITCHEN["Suppliers"][0],
                "Mill,Tue Fri,1,14:00,next day",
                f"Corner,{corner_days},next day",
            ],
            Packs=[
                "supplier,item,pack,holds,preferred,price",
                f"Mill,Sugar,bag,1 kg,{mill}",
                f"Corner,Sugar,bag,1 kg,{corner}",
            ],
        )["shortfalls"][0]["remedy"]

    def test_a_delivery_out_of_date_by_then_is_no_remedy(self):
        # Tuesday's sugar keeps to Wednesday; it is needed on Thursday.
        items = [KITCHEN["Items"][0], "Sugar,mass,,,2"]

        (row,) = worked(**self.CAKE_ONLY, Items=items)["shortfalls"]

        assert row["remedy"] is None

    def test_no_delivery_on_a_day_the_bakery_or_the_supplier_is_closed(self):
        for changed in (
            {"Settings": ["setting,value", "closed_on,2026-05-05"]},
            {
                "Suppliers": [
                    KITCHEN["Suppliers"][0] + ",closed_on",
                    "Mill,Tue Fri,1,14:00,next day,2026-05-05",
                ]
            },
        ):
            (row,) = worked(**self.CAKE_ONLY, **changed)["shortfalls"]
            assert row["remedy"] is None

    def test_order_by_follows_the_clocks(self):
        # Clocks in Vienna go forward on Sunday 29 March 2026.
        result = worked(
            at="2026-03-27T08:00+01:00",
            **self.CAKE_ONLY,
            Settings=["setting,value", "time_zone,Europe/Vienna"],
            Bake_plan=bakes("A,2026-04-02,Cake,1,"),
        )

        (row,) = result["shortfalls"]
        assert row["remedy"]["order_by"] == "2026-03-30T14:00:00+02:00"


class TestUsualOrders:
    def order(self, **changed):
        sheets = kitchen(**TestProjection.CAKE_ONLY, **changed)
        moment = datetime.fromisoformat(MONDAY)
        result = usual_orders(sheets, at=moment, days=7)
        lines = [
            (order["deliver_on"][8:], line["packs"], line["price"], line["amount"])
            for order in result["orders"]
            for line in order["lines"]
        ]
        return lines, result["totals"]["usual_total"]

    def test_enough_packs_to_end_at_par_at_the_last_delivery_in_time(self):
        # 3 000 + 1 000 used - 500 on hand = 3 500 -> 4 bags of 2.00.
        items = [KITCHEN["Items"][0], "Sugar,mass,,3 kg,"]

        told = self.order(Items=items, Stock=stock("Sugar,500 g,"))

        assert told == ([("05", 4, "2.00", "8.00")], "8.00")

    def test_minimum_packs_multiple_and_the_break_for_all_units(self):
        # 1 bag wanted, at least 4, by threes: 6, at the price from 5 on.
        packs = [
            "supplier,item,pack,holds,price,minimum_packs,multiple,price_breaks",
            "Mill,Sugar,bag,1 kg,2.00,4,3,5: 1.75; 10: 1.50",
        ]

        assert self.order(Packs=packs) == ([("05", 6, "1.75", "10.50")], "10.50")

    @pytest.mark.parametrize(
        ("minimum", "fee", "free_from", "packs", "total"),
        [
            ("", "5", "", 1, "7.00"),
            ("", "5", "2", 1, "2.00"),  # equal reaches it
            ("6", "5", "6", 3, "6.00"),
        ],
    )
    def test_minimum_order_and_fee(self, minimum, fee, free_from, packs, total):
        columns = ",minimum_order,delivery_fee,free_delivery_from"
        suppliers = [
            KITCHEN["Suppliers"][0] + columns,
            f"{KITCHEN['Suppliers'][1]},{minimum},{fee},{free_from}",
        ]

        lines, usual_total = self.order(Suppliers=suppliers)

        assert (lines[0][1], usual_total) == (packs, total)
