"""Exact numbers in the database: whole ten-thousandths and whole cents.

SQLite keeps decimals as floats and sums them as floats, so an amount or a price is
stored as a whole number and is a Decimal only in Python.
"""

from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import BaseValidator
from django.db import models
from django.db.models import lookups
from django.db.models.expressions import Combinable
from django.utils.translation import gettext as _

from stock.measures.resolution import LEDGER_PLACES
from stock.wording.money_words import MONEY_PLACES, PRICE_PLACES

AMOUNT_PLACES = LEDGER_PLACES
# Signed 64-bit, the widest whole number that both databases keep.
LARGEST_STORED = 2**63 - 1


class ScaledDecimalField(models.BigIntegerField):
    """A Decimal of a fixed number of places, stored as a whole number of the last."""

    places = 0
    # From these django-stubs knows what such a column takes and gives.
    _pyi_private_set_type: Decimal | int | str | Combinable  # type: ignore[assignment]
    _pyi_private_get_type: Decimal  # type: ignore[assignment]

    @property
    def step(self) -> Decimal:
        """The smallest difference that this field keeps."""
        return Decimal(1).scaleb(-self.places)

    @property
    def validators(self) -> list[BaseValidator]:  # type: ignore[override]
        """The column's own, without the range that holds for whole numbers."""
        return list(self._validators)  # type: ignore[attr-defined]

    def to_python(self, value: Any) -> Decimal | None:
        """Return the value rounded half up to this field's places."""
        if value is None or value == "":
            return None
        try:
            exact = value if isinstance(value, Decimal) else Decimal(str(value))
        except ArithmeticError as error:
            raise ValidationError(
                _("{value!r} isn't a number.").format(value=value)
            ) from error
        if not exact.is_finite():
            raise ValidationError(_("{value!r} isn't a number.").format(value=value))
        if abs(exact) > LARGEST_STORED * self.step:
            raise ValidationError(
                _("{value} is too large to keep.").format(value=value)
            )
        return exact.quantize(self.step, rounding=ROUND_HALF_UP)

    def get_prep_value(self, value: Any) -> int | None:
        """Return the whole number that is stored."""
        decimal = self.to_python(value)
        return None if decimal is None else int(decimal.scaleb(self.places))

    def from_db_value(
        self,
        value: Any,
        expression: object,  # noqa: ARG002 (as Django calls it)
        connection: object,  # noqa: ARG002 (as Django calls it)
    ) -> Decimal | None:
        """Return the Decimal for a stored whole number, or for a sum of them."""
        return None if value is None else Decimal(int(value)).scaleb(-self.places)

    def formfield(self, **kwargs: Any) -> Any:  # type: ignore[override]
        """Return a form field for decimals, not for whole numbers."""
        from django import forms

        options = {"form_class": forms.DecimalField, "decimal_places": self.places}
        return models.Field.formfield(self, **{**options, **kwargs})


# Django rounds a float up to a whole number before it compares it with a whole-number
# column; here 1.5 means 1.5.
ScaledDecimalField.register_lookup(lookups.GreaterThanOrEqual)
ScaledDecimalField.register_lookup(lookups.LessThan)


class AmountField(ScaledDecimalField):
    """An amount in its item's base unit (g, mL or each), exact to 4 places."""

    places = AMOUNT_PLACES


class PriceField(ScaledDecimalField):
    """The price of one pack, exact to 4 places, in the bakery's currency."""

    places = PRICE_PLACES


class MoneyField(ScaledDecimalField):
    """A sum of money, exact to 2 places, in the bakery's currency."""

    places = MONEY_PLACES


class CompiledAmountField(models.FloatField):
    """What a typed quantity comes to in base units, as the plan's arithmetic uses it.

    The typed text beside it is the exact figure; this is worked out from the text
    whenever the text, or the item's equivalents, change.
    """
