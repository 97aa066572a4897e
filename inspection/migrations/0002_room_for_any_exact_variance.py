from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inspection", "0001_people_cars_tracks_and_rules"),
    ]

    operations = [
        migrations.AlterField(
            model_name="finding",
            name="variance",
            field=models.CharField(blank=True, max_length=200),
        ),
    ]
