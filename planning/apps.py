"""The planning app."""

from django.apps import AppConfig


class PlanningConfig(AppConfig):
    """Recipes, the bake plan, shortfalls and orders."""

    name = "planning"
    verbose_name = "Planning"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have recipe lines follow an item's units, and orders keep what they say."""
        from planning.orders.orders import held_packs  # these need the models
        from planning.recipes.recipe_lines import recompile_lines
        from stock.conversion import dependents

        dependents.register(recompile_lines)
        dependents.register_holding(held_packs)
