from django.db import migrations

from stock.ledger import guard


def install(apps, schema_editor):
    guard.install(schema_editor.connection)


def remove(apps, schema_editor):
    guard.remove(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('stock', '0001_initial'),
    ]

    operations = [
        migrations.RunPython(install, remove),
    ]
