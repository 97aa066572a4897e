from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inspection', '0004_bias_of_a_gauge_and_seed_of_a_study'),
    ]

    operations = [
        migrations.AddField(
            model_name='gauge',
            name='reproducibility',
            field=models.CharField(blank=True, max_length=30, verbose_name='between inspectors, one standard deviation'),
        ),
        migrations.RemoveField(model_name='gaugestudy', name='given'),
        migrations.RemoveField(model_name='gaugestudy', name='replaced'),
        migrations.AddField(
            model_name='gaugestudy',
            name='given',
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name='gaugestudy',
            name='replaced',
            field=models.JSONField(blank=True, default=dict),
        ),
    ]
