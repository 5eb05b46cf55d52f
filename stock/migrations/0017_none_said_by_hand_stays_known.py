from django.db import migrations
from django.db.models import Exists, OuterRef


def mark_found_empty(apps, schema_editor):
    """Nothing else has ever kept a balance of nothing without a movement."""
    balances = apps.get_model("stock", "Balance").objects
    movements = apps.get_model("stock", "Movement").objects
    moved = movements.filter(place=OuterRef("place"), lot=OuterRef("lot"))
    balances.filter(~Exists(moved), amount_base=0).update(found_empty=True)


class Migration(migrations.Migration):

    dependencies = [
        ("stock", "0016_balances_say_what_was_found_empty"),
    ]

    operations = [
        migrations.RunPython(mark_found_empty, migrations.RunPython.noop),
    ]
