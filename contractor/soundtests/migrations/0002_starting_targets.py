"""Targets to start from. They are quoted from secondary sources and say so; the firm checks and edits them."""

from django.db import migrations

SOURCE = "Approved Document E, table 0.1a, as quoted by consultancies; not checked against the text in force"
STARTING = [
    ("Dwelling formed by change of use: walls and floors, airborne", "dnt_w_ctr", 43),
    ("Dwelling formed by change of use: floors, impact", "lnt_w", 64),
    ("New dwelling: walls and floors, airborne", "dnt_w_ctr", 45),
    ("New dwelling: floors, impact", "lnt_w", 62),
]


def add(apps, schema_editor):
    target = apps.get_model("soundtests", "Target")
    for name, quantity, limit_db in STARTING:
        target.objects.get_or_create(
            name=name, defaults={"place": "England", "quantity": quantity, "limit_db": limit_db, "source": SOURCE}
        )


class Migration(migrations.Migration):
    dependencies = [("soundtests", "0001_sound_tests")]
    operations = [migrations.RunPython(add, migrations.RunPython.noop)]
