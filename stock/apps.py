"""The stock app."""

import sqlite3

from django.apps import AppConfig

# SQLITE_LIMIT_VARIABLE_NUMBER as SQLite is built unless told otherwise, since 3.32.
SQLITE_VALUES_A_QUERY = 32_766


class StockConfig(AppConfig):
    """Items, places, suppliers, packs and the ledger."""

    name = "stock"
    verbose_name = "Stock"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Let SQLite take as many values a statement as it does since 3.32.

        Django 5.2 reckons with the 999 of older ones, and cuts the rows of a posted
        count into five inserts.
        """
        from django.db.backends.sqlite3.base import DatabaseWrapper  # once it is set up

        if sqlite3.sqlite_version_info >= (3, 32):
            DatabaseWrapper.features_class.max_query_params = SQLITE_VALUES_A_QUERY
