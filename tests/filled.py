"""A database in which every table has a row: what a backup must not lose.

The demo's kitchen fills most tables. What it leaves empty gets a row made from the
model's own fields, so that a table that comes later is filled as well.
"""

import uuid
from datetime import date, time
from decimal import Decimal

from django.db import models

from planning.demo import build_sheets
from planning.interchange.loading import load_kitchen
from stock.backups.contents import kept_models
from stock.models import Count, Item, Place
from tests import build
from tests.build import MONDAY, NOON

VALUES_BY_FIELD = {
    models.UUIDField: uuid.UUID(int=7),
    models.DateTimeField: NOON,
    models.DateField: MONDAY,
    models.TimeField: time(14),
    models.DecimalField: Decimal(1),
    models.JSONField: {"kept": [1, "ü", None]},
    models.BooleanField: True,
    models.IntegerField: 1,
    models.FloatField: 1.5,
    models.CharField: "ü",
    models.TextField: "a line\nand another, ½",
}
# Where a rule of the table asks for more than a value of the right kind.
FIELDS_BY_MODEL = {
    "stock.Count": {"state": Count.State.OPEN, "closed_at": None},
    "stock.CountDecision": {"choice": "sum", "entry": None},
    "stock.Move": {"to_place": Place.objects.last},  # to another than from
}


def fill_every_table():
    """Leave no table without a row; return how many rows each has, by model."""
    load_kitchen(build_sheets(date(2026, 5, 4)), at=NOON)
    build.substitute(*Item.objects.filter(kind=Item.Kind.INGREDIENT)[:2])
    for model in kept_models():
        _row_of(model)
    return {model._meta.label: model._base_manager.count() for model in kept_models()}


def _row_of(model):
    found = model._base_manager.first()
    if found is not None:
        return found
    fields = {
        field.name: _value(field)
        for field in model._meta.concrete_fields
        if not field.primary_key or not field.has_default()
        if not isinstance(field, models.AutoField)
    }
    for name, value in FIELDS_BY_MODEL.get(model._meta.label, {}).items():
        fields[name] = value() if callable(value) else value
    return model._base_manager.create(**fields)


def _value(field):
    if isinstance(field, models.ForeignKey):
        if field.related_model is field.model:
            return None
        return _row_of(field.related_model)
    if field.choices:
        return next(value for value, _ in reversed(field.flatchoices) if value)
    for kind, value in VALUES_BY_FIELD.items():
        if isinstance(field, kind):
            return value
    raise AssertionError(f"{field}: say in VALUES_BY_FIELD what to fill it with")
