from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.db import IntegrityError, connection, transaction

from stock.models import Bakery, Item, Lot, Movement, Pack, Place, Supplier
from tests import build
from tests.build import NOON

pytestmark = pytest.mark.django_db


def refused(name, act):
    """Check that the database itself refuses, by the rule of this name."""
    with pytest.raises(IntegrityError) as refusal, transaction.atomic():
        act()
    if connection.vendor == "postgresql" or "CHECK" in str(refusal.value):
        assert name in str(refusal.value)


def sentences(row):
    with pytest.raises(ValidationError) as refusal:
        row.full_clean()
    return " ".join(refusal.value.messages)


def test_migrations_are_up_to_date():
    call_command("makemigrations", "--check", "--dry-run", verbosity=0)


class TestBakery:
    def test_there_is_one_row(self):
        first = Bakery.objects.create()

        assert first.pk == 1
        refused("pk", lambda: Bakery.objects.create(name="Another"))
        refused("bakery_is_one_row", lambda: Bakery.objects.create(pk=2))

    def test_its_defaults_are_those_of_a_kitchen_that_says_nothing(self):
        kitchen = Bakery()

        assert kitchen.horizon_days == 14
        assert kitchen.layer_height == "1.5 in"
        assert kitchen.leftover_worth == Decimal("0.9")
        assert kitchen.zone == ZoneInfo("UTC")

    @pytest.mark.parametrize("worth", ["-0.001", "1.001"])
    def test_a_leftover_is_worth_a_share(self, worth):
        refused(
            "leftover_worth_is_a_share",
            lambda: Bakery.objects.create(leftover_worth=Decimal(worth)),
        )

    @pytest.mark.parametrize("days", [0, 367])
    def test_the_horizon_is_within_a_year(self, days):
        refused(
            "horizon_within_a_year", lambda: Bakery.objects.create(horizon_days=days)
        )


class TestNames:
    @pytest.mark.parametrize(
        ("build_row", "sentence"),
        [
            (build.place, "There is a place of this name already."),
            (build.supplier, "There is a supplier of this name already."),
            (build.item, "An item, a part or a recipe has this name already."),
        ],
    )
    def test_a_name_is_taken_whatever_its_case(self, build_row, sentence):
        first = build_row("Flour")

        assert str(first) == "Flour"
        refused("name_once", lambda: build_row("fLOUR"))
        first.pk, first._state.adding = None, True
        assert sentence in sentences(first)

    def test_items_parts_and_recipes_share_one_set_of_names(self):
        build.recipe("Lemon curd")

        refused("item_name_once", lambda: build.item("lemon curd"))


class TestItem:
    @pytest.mark.parametrize(
        ("measure", "unit"), [("mass", "g"), ("volume", "mL"), ("count", "each")]
    )
    def test_each_measure_has_its_base_unit(self, measure, unit):
        assert build.item(measure=measure).base_unit == unit

    @pytest.mark.parametrize("level", ["safety_base", "par_base"])
    def test_levels_are_not_negative(self, level):
        refused("item_levels_not_negative", lambda: build.item(**{level: -1}))

    def test_a_part_needs_its_whole_and_its_yield(self):
        egg = build.item("egg", measure="count")
        white = build.part("egg white", whole=egg, yields_base=33)

        assert white.part_yields == "33 g"
        rows = Item.objects.filter(pk=white.pk)
        for change in (
            {"whole": None},
            {"part_yields_base": None},
            {"part_yields_base": 0},
        ):
            refused("part_has_its_whole", lambda: rows.update(**change))  # noqa: B023 (run at once)

    def test_what_is_no_part_has_no_whole(self):
        egg = build.item("egg", measure="count")

        refused("part_has_its_whole", lambda: build.item("white", whole=egg))


class TestPacks:
    def test_words_are_once_an_item_and_supplier(self):
        flour, dairy, mill = build.item(), build.supplier(), build.supplier()
        build.pack(flour, mill, label="Sack 50 lb")

        build.pack(flour, dairy, label="sack 50 lb")
        build.pack(build.item(), mill, label="sack 50 lb")
        refused("pack_label_once", lambda: build.pack(flour, mill, label="SACK 50 lb"))

    @pytest.mark.parametrize(
        ("name", "wrong"),
        [
            ("pack_size_above_zero", {"size_base": 0}),
            ("pack_size_above_zero", {"size_base": -1}),
            ("pack_price_not_negative", {"price": "-0.0001"}),
            ("pack_minimum_and_multiple_from_one", {"minimum_packs": 0}),
            ("pack_minimum_and_multiple_from_one", {"multiple": 0}),
        ],
    )
    def test_terms_that_cannot_be_are_refused(self, name, wrong):
        flour, mill = build.item(), build.supplier()

        refused(name, lambda: build.pack(flour, mill, **wrong))

    def test_a_free_pack_is_a_pack(self):
        assert build.pack(build.item(), price="0").price == 0

    def test_a_pack_says_whose_it_is(self):
        pack = build.pack(build.item(), build.supplier("Mill"), label="sack 50 lb")

        assert str(pack) == "sack 50 lb from Mill"

    @pytest.mark.parametrize(
        "term", ["minimum_order", "delivery_fee", "free_delivery_from"]
    )
    def test_a_suppliers_terms_are_not_negative(self, term):
        refused(
            "supplier_terms_not_negative", lambda: build.supplier(**{term: "-0.01"})
        )


class TestLedgerRows:
    def test_a_lot_is_one_row_dated_or_not(self):
        flour = build.item()
        for use_by in (None, date(2026, 5, 8)):
            lot = {"item": flour, "use_by": use_by, "code": "A7"}
            Lot.objects.create(**lot)
            refused("lot_once", lambda: Lot.objects.create(**lot))  # noqa: B023 (run at once)

    def test_a_lot_says_what_is_known_of_it(self):
        friday = date(2026, 5, 8)

        assert str(Lot(code="A7", use_by=friday)) == "A7, use by 2026-05-08"
        assert str(Lot(use_by=friday)) == "no lot, use by 2026-05-08"
        assert str(Lot()) == "no lot"

    @pytest.mark.parametrize(
        ("name", "amount_base"),
        [
            ("movement_moves_something", 0),
            ("movement_within_range", 10**11 + 1),
            ("movement_within_range", -(10**11) - 1),
        ],
    )
    def test_the_database_refuses_what_the_writer_would(self, name, amount_base):
        flour = build.item(place=build.place())
        row = Movement(
            item=flour,
            place=flour.place,
            lot=Lot.objects.create(item=flour),
            kind=Movement.Kind.USED,
            amount_base=amount_base,
            at=NOON,
        )

        refused(name, row.save)

    def test_movements_are_listed_latest_first(self):
        flour = build.item(place=build.place())
        for hour in (9, 11, 10):
            build.stock(flour, hour, at=NOON.replace(hour=hour))

        assert [row.amount_base for row in Movement.objects.all()] == [11, 10, 9]

    def test_a_moment_comes_back_aware(self):
        build.item(place=build.place(), on_hand_base=1)

        at = Movement.objects.get().at

        assert isinstance(at, datetime)
        assert at == NOON
        assert at.tzinfo is not None


class TestWhatIsUsedIsKept:
    def test_a_place_an_item_and_a_supplier_in_use_cannot_be_deleted(self):
        shelf = build.place()
        flour = build.item(place=shelf)
        build.pack(flour, build.supplier())

        for row in (shelf, flour, Supplier.objects.get()):
            with pytest.raises(IntegrityError, match="protected"):
                row.delete()

        assert Place.objects.exists()
        assert Pack.objects.exists()
