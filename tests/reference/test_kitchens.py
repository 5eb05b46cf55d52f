"""The four invented bakeries, against figures worked out on paper."""

from datetime import datetime
from pathlib import Path

import pytest

from tests.reference.by_hand import plan, read_folder, usual_orders

KITCHENS = Path(__file__).parent / "kitchens"
LB = 453.59237
QUART = 946.352946


def worked_out(name, moment, **options):
    sheets = read_folder(KITCHENS / name)
    return plan(sheets, at=datetime.fromisoformat(moment), **options)


def cells(rows, *columns):
    return [tuple(row[column] for column in columns) for row in rows]


def demand(worked, item):
    return {
        row["date"][8:]: row["amount"]
        for row in worked["demand"]
        if row["item"] == item
    }


def short(worked, item):
    return next(row for row in worked["shortfalls"] if row["item"] == item)


class TestButterCake:
    MOMENT = "2026-05-04T08:00-05:00"

    def test_what_is_made(self):
        worked = worked_out("butter_cake", self.MOMENT)

        # Two cakes due Saturday the 9th, made Friday. Batter a day before that:
        # 2 x 1 200 / 0.96 = 2 500 g = 1.25 batches. Buttercream two days: 1 200 g.
        assert cells(worked["making"], "recipe", "date", "batches", "amount") == [
            ("Buttercream", "2026-05-06", 1.2, 1200),
            ("Butter batter", "2026-05-07", 1.25, 2500),
            ("Birthday cake", "2026-05-08", 2, 2),
        ]

    def test_what_is_needed(self):
        worked = worked_out("butter_cake", self.MOMENT)

        # 4 cups of 125 g; 2 sticks of 4 oz; 1/2 cup + 8 tbsp is a cup; all x 1.25.
        # Buttercream: 1 lb of butter and 2 1/2 cups of 200 g, x 1.2.
        assert demand(worked, "Cake flour") == {"07": 625}
        assert demand(worked, "Sugar") == {"06": 600, "07": 500}
        butter = {"06": 1.2 * LB, "07": 0.625 * LB}
        assert demand(worked, "Butter") == pytest.approx(butter, abs=1e-6)
        assert demand(worked, "Eggs") == {"07": 5}
        assert demand(worked, "Milk")["07"] == pytest.approx(QUART / 4 * 1.25, abs=1e-6)
        assert demand(worked, "Cake board 8 in") == {"08": 2}

    def test_what_runs_short(self):
        worked = worked_out("butter_cake", self.MOMENT)

        # Butter 1.5 - 1.2 - 0.625 lb = -0.325 lb. Flour 1.25 lb - 625 g.
        # Eggs 12 - 5 = 7 under 8. Sugar 2 000 - 1 100 = 900 under 3 000.
        rows = cells(worked["shortfalls"], "item", "kind", "first_date", "short_by")
        assert rows == [
            ("Butter", "out", "2026-05-07", pytest.approx(0.325 * LB, abs=1e-6)),
            (
                "Cake flour",
                "out",
                "2026-05-07",
                pytest.approx(625 - 1.25 * LB, abs=1e-6),
            ),
            ("Eggs", "below safety", "2026-05-07", 1),
            ("Sugar", "below par", "2026-05-10", 2100),
        ]
        # A Friday dairy delivery would be usable on Saturday only.
        assert short(worked, "Butter")["remedy"] == {
            "supplier": "Dairy Direct",
            "order_by": "2026-05-04T14:00:00-05:00",
            "deliver_on": "2026-05-05",
        }
        assert short(worked, "Sugar")["cakes"] == []

    def test_the_usual_order_brings_a_small_delivery_up_to_its_minimum(self):
        sheets = read_folder(KITCHENS / "butter_cake")

        usual = usual_orders(sheets, at=datetime.fromisoformat(self.MOMENT))

        # Dairy 3.60 + 41.25, no minimum. Dry goods 24.50 + 19.90 = 44.40 is under
        # 50: one more bag of flour, the first line; 68.90 + a fee of 15.
        lines = [cells(order["lines"], "item", "packs") for order in usual["orders"]]
        assert lines == [
            [("Butter", 1), ("Eggs", 1)],
            [("Cake flour", 2), ("Sugar", 1)],
        ]
        assert usual["totals"] == {
            "goods": "113.75",
            "fees": "15.00",
            "usual_total": "128.75",
        }

    def test_the_ledger_keeps_four_places(self):
        exact = worked_out("butter_cake", self.MOMENT)
        kept = worked_out("butter_cake", self.MOMENT, ledger_places=4)

        # 20 oz are 566.9904625 g, in the ledger 566.9905 g.
        assert short(exact, "Cake flour")["short_by"] == pytest.approx(
            58.0095375, abs=1e-6
        )
        assert short(kept, "Cake flour")["short_by"] == 58.0095


class TestEggAndLemon:
    MOMENT = "2026-05-04T08:00-04:00"

    def test_wholes_follow_the_larger_need_and_what_is_left_over_is_used_in_date(self):
        worked = worked_out("egg_and_lemon", self.MOMENT)

        # 6 May: yolk 85 g = 5 eggs, 165 g of white over (keeps to the 7th).
        # 7 May: yolk 170 g = 10 eggs, white 330 - 165 = 5 eggs; + 1 whole egg.
        # 8 May: white 660 - 165 = 495 g = 15 eggs; + 2 whole eggs.
        assert demand(worked, "Egg") == {"06": 5, "07": 11, "08": 17}
        # Juice 120 g = 2.5 lemons, then 240 g = 5; zest is covered each time.
        assert demand(worked, "Lemon") == {"06": 2.5, "07": 5}
        # 50 tsp of 4.2 g a batch of curd; 2 cups a batch of meringue.
        assert demand(worked, "Sugar") == {"06": 105, "07": 210 + 400, "08": 800}

    def test_only_what_no_later_day_uses_is_left_over(self):
        worked = worked_out("egg_and_lemon", self.MOMENT)

        # The 165 g of white of the 6th serve the 7th, those of the 7th the 8th; on
        # the 8th 15 eggs leave 255 g of yolk. Zest on the 6th: 6 g from stock, so all
        # 2.5 x 6 g are over, of which the 7th takes 12; then 5 x 6 g are.
        assert sorted(worked["warnings"]) == [
            "255 of Egg yolk is left over on 2026-05-08",
            "3 of Lemon zest is left over on 2026-05-06",
            "30 of Lemon zest is left over on 2026-05-07",
        ]

    def test_eggs_run_out_on_the_second_day(self):
        worked = worked_out("egg_and_lemon", self.MOMENT)

        # 14 - 5 - 11 = -2, - 17 = -19. Same day deliveries, ordered that morning.
        row = short(worked, "Egg")
        assert (row["first_date"], row["short_by"]) == ("2026-05-07", 19)
        assert row["cakes"] == ["L-1", "L-2"]
        assert row["remedy"]["order_by"] == "2026-05-07T05:30:00-04:00"


class TestThreeLevels:
    MOMENT = "2026-05-12T07:00+02:00"

    def test_what_is_made(self):
        worked = worked_out("three_levels", self.MOMENT)

        # Closed Sundays, Mondays and the 14th. C-1 is late, C-2 made on the 13th,
        # C-3 on Saturday the 16th, C-4 on the 19th.
        # Cream: the 500 g in stock serve C-1. C-2 800 -> 1 batch, 200 over to the
        # 14th; C-3 1 200 -> 1.5, 300 over to the 17th; C-4 400 -> 0.5, on the 16th.
        # Caramel 640 g a batch: 12th 300 - 100 = 200, 440 over to the 21st;
        # for the 15th 450 - 440 = 10 and for the 16th 150, both made on the 13th.
        assert cells(worked["making"], "recipe", "date", "batches", "surplus") == [
            ("Caramel", "2026-05-12", 1, 440),
            ("Caramel cream", "2026-05-12", 1, 200),
            ("Celebration", "2026-05-12", 1, 0),
            ("Caramel", "2026-05-13", 1, 480),
            ("Celebration", "2026-05-13", 2, 0),
            ("Caramel cream", "2026-05-15", 1.5, 300),
            ("Caramel cream", "2026-05-16", 0.5, 100),
            ("Celebration", "2026-05-16", 3, 0),
            ("Celebration", "2026-05-19", 1, 0),
        ]

    def test_what_a_late_making_needs_is_late(self):
        worked = worked_out("three_levels", self.MOMENT)

        late = [
            (row["item"], row["date"][8:]) for row in worked["demand"] if row["late"]
        ]
        assert late == [("Heavy cream", "12"), ("Sugar", "12"), ("Tall box", "12")]
        assert demand(worked, "Heavy cream") == {
            "12": 300 + 700,
            "13": 300,
            "15": 1050,
            "16": 350,
        }

    def test_cream_stays_out_until_the_open_order_comes(self):
        worked = worked_out("three_levels", self.MOMENT)

        # A quart - 1 000 - 300 mL; 12 quarts on the 15th, usable the same day.
        row = short(worked, "Heavy cream")
        assert row["short_by"] == pytest.approx(1300 - QUART, abs=1e-6)
        # C-1's cream came from stock; the making of the 13th is for C-3 and C-4.
        assert row["cakes"] == ["C-2", "C-3", "C-4"]
        assert row["remedy"] is None  # today's cut-off was at five
        closing = [
            r["closing"]
            for r in worked["projection"]
            if r["item"] == "Heavy cream" and r["date"] == "2026-05-15"
        ]
        assert closing == [pytest.approx(13 * QUART - 2350, abs=1e-6)]

    def test_safety_and_par(self):
        worked = worked_out("three_levels", self.MOMENT)

        # Sugar 2 000 - 500 - 500 = 1 000 under 1 200 from the 13th.
        # Boxes 9 - 7 = 2 under 20, but 25 are due after the window.
        assert cells(worked["shortfalls"], "item", "kind", "short_by") == [
            ("Heavy cream", "out", pytest.approx(1300 - QUART, abs=1e-6)),
            ("Sugar", "below safety", 200),
        ]

    def test_warnings(self):
        worked = worked_out("three_levels", self.MOMENT)

        # C-0 was due yesterday; PO-0 is overdue; the cake and the caramel are late;
        # the cream made on the 16th keeps to the 18th and is used on the 19th.
        assert len(worked["warnings"]) == 5

    def test_tentative_cakes_may_be_left_out(self):
        worked = worked_out("three_levels", self.MOMENT, tentative=False)

        # Without C-4 the 300 g of the 15th are past their date for everyone.
        assert ("Caramel cream", "2026-05-16") not in cells(
            worked["making"], "recipe", "date"
        )
        assert "19" not in demand(worked, "Tall box")


class TestWeddingSeason:
    MOMENT = "2026-06-08T09:00-04:00"

    def made(self, recipe):
        worked = worked_out("wedding_season", self.MOMENT)
        return {
            row["date"][8:]: (row["batches"], row["surplus"])
            for row in worked["making"]
            if row["recipe"] == recipe
        }

    def test_compote_follows_the_filling_of_three_tiers(self):
        # Base: 100 + 64 + 36 = 200, x 2 fillings = 400 (over pi/4). W-102:
        # 2 x 144 + 2 x 81 + 3 x 36 = 558: 1.395 L. Loss 10 %, a quart a batch.
        compote = self.made("Strawberry compote")
        assert compote["11"] == (pytest.approx(1000 / 0.9 / QUART, abs=1e-6), 0)
        assert compote["17"] == (pytest.approx(1395 / 0.9 / QUART, abs=1e-6), 0)

    def test_chocolate_batter_is_rounded_to_quarter_batches_and_carried(self):
        # 3 377.5 g net a batch. 8th: 1 800 -> 0.75 batch = 2 533.125.
        # 10th, for two 10 in x 2 = 200/192 x 1 800 x 2 = 3 750: less 733.125 of
        # surplus 3 016.875 -> 0.9 -> 1 batch.
        batter = self.made("Chocolate layer batter")
        assert batter["08"] == (0.75, 733.125)
        assert batter["10"] == (1, pytest.approx(360.625))

    def test_strawberries_are_bought_uncleaned_and_their_flat_runs_out(self):
        worked = worked_out("wedding_season", self.MOMENT)

        # 200 g of edible berries at 94 % for B-201, late, on the first day.
        strawberries = demand(worked, "Strawberries")
        assert strawberries["08"] == pytest.approx(200 / 0.94, abs=1e-6)
        # What is left of the 8 lb flat goes out of date after the 9th; the two
        # flats of the 11th keep to the 13th.
        expired = {
            row["date"][8:]: row["expired"]
            for row in worked["projection"]
            if row["item"] == "Strawberries" and row["expired"]
        }
        eleventh = 400 / 0.94 + 2 * LB * (1000 / 0.9 / QUART) / 0.94
        assert expired == pytest.approx(
            {"10": 8 * LB - 200 / 0.94, "14": 16 * LB - eleventh}, abs=1e-5
        )

    def test_butter_past_its_date_is_thrown_out_on_the_first_day(self):
        worked = worked_out("wedding_season", self.MOMENT)

        first = next(row for row in worked["projection"] if row["item"] == "Butter")
        # 12 lb + 3 sticks + 2 lb; curd 1.5 x 0.75 lb.
        assert first["opening"] == pytest.approx(14.75 * LB, abs=1e-6)
        assert first["expired"] == pytest.approx(2 * LB, abs=1e-6)
        assert first["used"] == pytest.approx(1.125 * LB, abs=1e-6)

    def test_retired_items_and_made_things_are_not_projected(self):
        worked = worked_out("wedding_season", self.MOMENT)

        projected = {row["item"] for row in worked["projection"]}
        assert len(projected) == 25  # 26 items, one retired
        assert projected.isdisjoint({"Almond flour", "Ganache", "Egg yolk"})

    def test_a_delivery_keeps_clear_of_closed_days(self):
        worked = worked_out("wedding_season", self.MOMENT)

        # Friday the 19th is closed, so the last dairy delivery is Tuesday the 16th,
        # the last packaging one Thursday the 18th, ordered five days before.
        boards = short(worked, "Cake board")
        # 22 - 1 - 3 - 2 - 1 - 2 - 2 - 1 - 2 = 8 under 10, on the last day.
        assert (boards["first_date"], boards["short_by"]) == ("2026-06-21", 2)
        assert boards["remedy"]["order_by"] == "2026-06-13T17:00:00-04:00"
        assert all(
            row["remedy"]["deliver_on"] not in {"2026-06-19", "2026-06-15"}
            for row in worked["shortfalls"]
            if row["remedy"]
        )
