"""The stock app."""

from django.apps import AppConfig


class StockConfig(AppConfig):
    """Items, places, suppliers, packs and the ledger."""

    name = "stock"
    verbose_name = "Stock"
    default_auto_field = "django.db.models.BigAutoField"
