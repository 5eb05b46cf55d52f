from django.db import migrations, models
from django.utils import timezone


class Migration(migrations.Migration):

    dependencies = [
        ('stock', '0024_lots_can_be_held'),
    ]

    operations = [
        migrations.AddField(
            model_name='countdecision',
            name='through_typed',
            field=models.PositiveBigIntegerField(default=0, help_text='The newest seen of what is typed and not entered.'),
        ),
        migrations.AddField(
            model_name='counttyped',
            name='heard_at',
            field=models.DateTimeField(default=timezone.now, help_text='When just this was heard first.'),
            preserve_default=False,
        ),
    ]
