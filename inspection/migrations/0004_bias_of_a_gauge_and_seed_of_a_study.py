
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inspection', '0003_rules_readings_lists_and_studies'),
    ]

    operations = [
        migrations.AddField(
            model_name='gauge',
            name='bias',
            field=models.CharField(blank=True, max_length=30, verbose_name='bias against a check block'),
        ),
        migrations.AddField(
            model_name='gaugestudy',
            name='given',
            field=models.CharField(blank=True, max_length=30),
        ),
        migrations.AddField(
            model_name='gaugestudy',
            name='replaced',
            field=models.CharField(blank=True, max_length=30),
        ),
        migrations.AddField(
            model_name='gaugestudy',
            name='seed',
            field=models.PositiveIntegerField(default=0, verbose_name='seed of the measuring order'),
        ),
    ]
