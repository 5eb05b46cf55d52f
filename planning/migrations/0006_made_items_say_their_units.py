from django.db import migrations

from stock.measures.reading.sayings import system_in


def say_units(apps, schema_editor):
    """Note of each made thing the units that its recipe's yield is written in."""
    Item = apps.get_model("stock", "Item")
    Recipe = apps.get_model("planning", "Recipe")
    ids_by_system = {}
    for item_id, yields in Recipe.objects.values_list("item_id", "yields"):
        ids_by_system.setdefault(system_in(yields) or "", []).append(item_id)
    for system, item_ids in ids_by_system.items():
        Item.objects.filter(pk__in=item_ids).update(speaks=system)


class Migration(migrations.Migration):
    dependencies = [
        ("planning", "0005_caps_use_by"),
        ("stock", "0013_made_items_say_their_units"),
    ]

    operations = [migrations.RunPython(say_units, migrations.RunPython.noop)]
