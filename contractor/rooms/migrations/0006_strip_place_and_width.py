from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("rooms", "0005_photos"),
    ]

    operations = [
        migrations.AddField(
            model_name="patch",
            name="strip_mm",
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="patch",
            name="strip_place",
            field=models.CharField(blank=True, help_text="An edge of that patch, or round a fixture.", max_length=24),
        ),
    ]
