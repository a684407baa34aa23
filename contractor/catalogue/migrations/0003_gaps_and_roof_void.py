from django.db import migrations, models

NOW = {"gap-sealing": "gap", "roof-void-closing": "roof_void"}


def name_them(apps, schema_editor):
    """What closes gaps, or the gap in a roof void, is told from other details: each fits where it can help."""
    for key, surface in NOW.items():
        apps.get_model("catalogue", "BuildUp").objects.filter(key=key, surface="detail").update(surface=surface)


def forget(apps, schema_editor):
    apps.get_model("catalogue", "BuildUp").objects.filter(surface__in=set(NOW.values())).update(surface="detail")


class Migration(migrations.Migration):
    dependencies = [("catalogue", "0002_climates")]
    operations = [
        migrations.AlterField(
            model_name="buildup",
            name="surface",
            field=models.CharField(
                choices=[
                    ("wall", "Wall"),
                    ("ceiling", "Ceiling"),
                    ("floor", "Floor"),
                    ("floor_edge", "Floor edge and void"),
                    ("boxing", "Pipe boxing"),
                    ("beam", "Beam casing"),
                    ("reveal", "Reveal"),
                    ("gap", "Gaps and leaks"),
                    ("roof_void", "Gap in the roof void"),
                    ("detail", "Detail"),
                    ("door", "Door"),
                    ("window", "Window"),
                ],
                max_length=12,
            ),
        ),
        migrations.RunPython(name_them, forget),
    ]
