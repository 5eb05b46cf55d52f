"""The window and what is made, one tiny kitchen a rule, figures in the margin."""

from datetime import date

import pytest

from tests.reference.tiny import bakes, made, needed, recipes, stock, worked


class TestWindow:
    def test_today_is_the_date_in_the_bakery_s_zone(self):
        result = worked(
            at="2026-05-04T03:00+00:00",  # Sunday evening in New York
            Settings=["setting,value", "time_zone,America/New_York"],
        )

        assert (result["from"], result["to"]) == ("2026-05-03", "2026-05-09")
        assert result["as_of"] == "2026-05-03T23:00:00-04:00"

    def test_a_cake_past_the_window_is_exploded_and_what_falls_inside_listed(self):
        # Made on the 11th, its jam on the 10th, the window's last day.
        result = worked(Bake_plan=bakes("A,2026-05-12,Cake,1,confirmed"))

        assert made(result) == [("10", 600, 0)]
        assert made(result, "Cake") == []
        assert needed(result) == [("10", 300, False)]

    def test_a_live_line_due_before_today_is_a_warning_only(self):
        result = worked(
            Bake_plan=bakes(
                "A,2026-05-03,Cake,1,confirmed",
                "B,2026-05-03,Cake,1,cancelled",
                "C,2026-05-08,Cake,1,baked",
            )
        )

        assert result["making"] == []
        assert len(result["warnings"]) == 1

    @pytest.mark.parametrize(("tentative", "amount"), [(True, 1800), (False, 600)])
    def test_tentative_lines(self, tentative, amount):
        plan_rows = bakes("A,2026-05-08,Cake,1,", "B,2026-05-08,Cake,2,tentative")

        result = worked(tentative=tentative, Bake_plan=plan_rows)

        assert made(result) == [("06", amount, 0)]


class TestMaking:
    def test_lead_days_then_back_over_closed_days(self):
        # Due Fri 8th, cake Thu 7th closed -> Wed 6th; jam Tue 5th closed -> Mon 4th.
        result = worked(
            Settings=["setting,value", "closed_days,Tue", "closed_on,2026-05-07"]
        )

        assert made(result, "Cake") == [("06", 1, 0)]
        assert made(result) == [("04", 600, 0)]

    def test_what_should_have_been_made_before_today_is_late_today(self):
        # Cake for today was due to be made on Sunday; its jam on Sunday too.
        result = worked(Bake_plan=bakes("A,2026-05-04,Cake,1,confirmed"))

        assert made(result, "Cake") == [("04", 1, 0)]
        assert needed(result) == [("04", 300, True)]
        assert len(result["warnings"]) == 2  # cake and jam

    def test_made_stock_serves_in_order_of_day_while_in_date(self):
        # 1 000 g to the 7th: all 600 of A on the 7th; B on the 9th gets none.
        result = worked(
            Bake_plan=bakes("A,2026-05-08,Cake,1,", "B,2026-05-10,Cake,1,"),
            Stock=stock("Jam,1 kg,2026-05-07"),
        )

        assert made(result) == [("08", 600, 0)]

    def test_earliest_use_by_serves_first(self):
        # 7th: 400 to the 7th + 200 of the 600; 9th: 400 left, 200 made.
        result = worked(
            Bake_plan=bakes("A,2026-05-08,Cake,1,", "B,2026-05-10,Cake,1,"),
            Stock=stock("Jam,600 g,2026-05-20", "Jam,400 g,2026-05-07"),
        )

        assert made(result) == [("08", 200, 0)]

    def test_loss_comes_before_rounding_to_steps(self):
        # 600 / 0.8 = 750 -> 1 batch; 800 usable, 200 over.
        result = worked(Recipes=recipes("Jam,1 kg,0.5,20,1,3,"))

        assert made(result) == [("06", 1000, 200)]

    def test_rounding_up_forgives_a_millionth(self):
        # 600 g are 1 step of 600 g, even when the line says 600.0005 g.
        lines = ["recipe,component,quantity", "Cake,Jam,600.0005 g"]

        result = worked(Recipes=recipes("Jam,600 g,1,0,1,3,"), Recipe_lines=lines)

        assert made(result) == [("06", 600, 0)]

    @pytest.mark.parametrize(("keeps", "second"), [(2, 1000), (3, 0)])
    def test_surplus_serves_later_days_while_it_keeps(self, keeps, second):
        # 6th: 1 000 made, 400 over. B's cake is made on the 8th: needs keeps 3.
        result = worked(
            Recipes=[
                *recipes(f"Jam,1 kg,1,0,1,{keeps},"),
                "Half,1 each,,,0,,yes",
            ],
            Recipe_lines=[
                "recipe,component,quantity",
                "Cake,Jam,600 g",
                "Half,Jam,400 g",
            ],
            Bake_plan=bakes("A,2026-05-08,Cake,1,", "B,2026-05-08,Half,1,"),
        )

        assert sum(amount for _day, amount, _over in made(result)) == 1000 + second

    def test_one_making_a_day_for_all_cakes(self):
        result = worked(Bake_plan=bakes("A,2026-05-08,Cake,1,", "B,2026-05-08,Cake,2,"))

        assert made(result) == [("06", 1800, 0)]
        assert made(result, "Cake") == [("07", 3, 0)]

    def test_a_component_keeps_for_its_need_past_its_own_time(self):
        # Made on the 6th, keeps one day, used on the 7th: made, and a warning.
        result = worked(Recipes=recipes("Jam,1 kg,,,1,1,"))

        assert made(result) == [("06", 600, 0)]
        assert len(result["warnings"]) == 1

    def test_made_stock_without_a_use_by_serves_and_warns(self):
        result = worked(Stock=stock("Jam,5 kg,"))

        assert made(result) == []
        assert len(result["warnings"]) == 1

    def test_yield_percent_on_an_item_and_on_a_recipe(self):
        # 600 / 0.75 = 800 g of jam, 400 g of sugar / 0.5 = 800 g.
        lines = [
            "recipe,component,quantity,yield_percent",
            "Cake,Jam,600 g,75",
            "Jam,Sugar,500 g,50",
        ]

        result = worked(Recipe_lines=lines)

        assert made(result) == [("06", 800, 0)]
        assert needed(result) == [("06", 800, False)]


def test_from_may_lie_ahead_of_the_moment():
    result = worked(start=date(2026, 5, 7))

    # The jam for the cake of the 7th should have been made on the 6th.
    assert made(result) == [("07", 600, 0)]
    assert needed(result) == [("07", 300, True)]
