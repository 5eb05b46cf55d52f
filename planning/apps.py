"""The planning app."""

from django.apps import AppConfig


class PlanningConfig(AppConfig):
    """Recipes, the bake plan, shortfalls and orders."""

    name = "planning"
    verbose_name = "Planning"
    default_auto_field = "django.db.models.BigAutoField"
