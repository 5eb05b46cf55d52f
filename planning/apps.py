"""The planning app."""

from django.apps import AppConfig


class PlanningConfig(AppConfig):
    """Recipes, the bake plan, shortfalls and orders."""

    name = "planning"
    verbose_name = "Planning"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have recipe lines follow an item's units, and orders keep what they say.

        The history of an item names the deliveries and bakes of movements, and a lot's
        page the cakes that it reached.
        """
        from planning.orders.held_packs import held_packs  # these need the models
        from planning.recipes.recipe_lines import recompile_lines
        from planning.web.baking.documents import bake_documents
        from planning.web.orders.documents import delivery_documents
        from planning.web.tracing.reached import lot_reached
        from stock.conversion import dependents
        from stock.holding import reached
        from stock.ledger import documents

        documents.register("bake", bake_documents)
        documents.register("delivery", delivery_documents)
        reached.register(lot_reached)
        dependents.register(recompile_lines)
        dependents.register_holding(held_packs)
