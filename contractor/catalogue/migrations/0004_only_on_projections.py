from django.db import migrations, models

KEY = "chimney-breast-lining-50"


def say_what_for(apps, schema_editor):
    """The lining that ships for chimney breasts says so by more than its name."""
    apps.get_model("catalogue", "BuildUp").objects.filter(key=KEY).update(only_on_projections=True)


class Migration(migrations.Migration):
    dependencies = [("catalogue", "0003_gaps_and_roof_void")]
    operations = [
        migrations.AddField(
            model_name="buildup",
            name="only_on_projections",
            field=models.BooleanField(
                default=False,
                help_text="Such as a chimney breast or a pier: it goes round the front and the sides.",
                verbose_name="Only for a part that stands out",
            ),
        ),
        migrations.RunPython(say_what_for, migrations.RunPython.noop),
    ]
