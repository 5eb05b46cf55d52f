"""What was found before now has fingerprints of another make: look anew."""

from django.db import migrations


def forget_searches(apps, schema_editor):
    apps.get_model("planning", "OrderSearch").objects.all().delete()


class Migration(migrations.Migration):

    dependencies = [("planning", "0002_order_searches")]

    operations = [migrations.RunPython(forget_searches, migrations.RunPython.noop)]
