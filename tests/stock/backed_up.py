"""What tests of backups share."""

import pytest
from django.core import serializers
from django.db import connection

from stock.backups.contents import kept_models

only_sqlite = pytest.mark.skipif(
    connection.vendor != "sqlite", reason="the file of an embedded database"
)


def every_row(using="default"):
    return {
        model._meta.label: serializers.serialize(
            "python", model._base_manager.using(using).order_by("pk")
        )
        for model in kept_models()
    }
