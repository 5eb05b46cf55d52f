from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('stock', '0011_items_say_what_they_are_counted_in'),
    ]

    operations = [
        migrations.AlterField(
            model_name='item',
            name='par',
            field=models.CharField(blank=True, default='', help_text='What should stand on the shelf at the close of every par day.', max_length=200),
        ),
    ]
