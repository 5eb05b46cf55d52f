"""The planning app."""

from django.apps import AppConfig


class PlanningConfig(AppConfig):
    """Recipes, the bake plan, shortfalls and orders."""

    name = "planning"
    verbose_name = "Planning"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have recipe lines worked out again when an item's units change."""
        from planning.recipelines import recompile_lines  # it needs the models
        from stock import dependents

        dependents.register(recompile_lines)
