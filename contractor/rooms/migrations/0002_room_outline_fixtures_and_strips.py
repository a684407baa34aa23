import django.core.validators
import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("rooms", "0001_initial"),
    ]

    operations = [
        migrations.CreateModel(
            name="Fixture",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("socket", "Socket"),
                            ("switch", "Switch"),
                            ("data", "Aerial or data point"),
                            ("light", "Light fitting"),
                            ("downlight", "Downlight"),
                            ("radiator", "Radiator"),
                            ("pipe", "Pipe"),
                            ("nib", "Nib or pier"),
                            ("beam", "Beam"),
                            ("cornice", "Cornice or coving"),
                            ("skirting", "Skirting"),
                            ("stair", "Stair string"),
                            ("unit", "Fitted unit"),
                            ("air_brick", "Air brick"),
                            ("other", "Something else"),
                        ],
                        max_length=10,
                    ),
                ),
                ("x_mm", models.PositiveIntegerField(verbose_name="From the left")),
                ("y_mm", models.PositiveIntegerField(default=0, verbose_name="From the floor")),
                (
                    "width_mm",
                    models.PositiveIntegerField(
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(50000),
                        ]
                    ),
                ),
                (
                    "height_mm",
                    models.PositiveIntegerField(
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(50000),
                        ]
                    ),
                ),
                ("projection_mm", models.PositiveIntegerField(default=0, verbose_name="Stands out by")),
                (
                    "fate",
                    models.CharField(
                        choices=[
                            ("stays", "Stays where it is"),
                            ("moves", "Moves with the new face, or off it"),
                            ("comes_off", "Comes off for good"),
                        ],
                        default="moves",
                        max_length=10,
                        verbose_name="What becomes of it",
                    ),
                ),
                (
                    "is_back_to_back",
                    models.BooleanField(
                        default=False,
                        help_text="Sound passes through the pair of boxes.",
                        verbose_name="Back to back with one on the other side",
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ["surface", "x_mm", "y_mm", "pk"],
            },
        ),
        migrations.AddField(
            model_name="patch",
            name="outline_mm",
            field=models.JSONField(
                blank=True, default=list, help_text="Corners [x, y] on the surface; empty for a rectangle."
            ),
        ),
        migrations.AddField(
            model_name="patch",
            name="strip_of",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="strips",
                to="rooms.patch",
            ),
        ),
        migrations.AddField(
            model_name="patch",
            name="strip_reason",
            field=models.CharField(
                blank=True,
                choices=[
                    ("nib", "At a nib or pier"),
                    ("cornice", "Under a cornice or coving"),
                    ("unit", "Beside a fitted unit"),
                    ("stair", "At a stair string"),
                    ("pipe", "At pipes or a radiator"),
                    ("air_brick", "At an air brick, which stays open"),
                    ("other", "For another reason"),
                ],
                max_length=10,
                verbose_name="It stops short",
            ),
        ),
        migrations.AddField(
            model_name="room",
            name="outline",
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name="room",
            name="volume_mm3",
            field=models.PositiveBigIntegerField(blank=True, help_text="Of a room with an outline.", null=True),
        ),
        migrations.AddField(
            model_name="surface",
            name="outline_mm",
            field=models.JSONField(
                blank=True,
                default=list,
                help_text="Corners [x, y] from its bottom left; empty for a rectangle of its sizes.",
            ),
        ),
        migrations.AddField(
            model_name="surface",
            name="place",
            field=models.PositiveSmallIntegerField(
                blank=True,
                help_text="Which wall of the walk round the room it is, or which flat part of the ceiling.",
                null=True,
            ),
        ),
        migrations.AddConstraint(
            model_name="patch",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("strip_of__isnull", True), ("strip_reason", "")),
                    models.Q(
                        models.Q(("strip_reason", ""), _negated=True),
                        ("depth_limit_mm__isnull", True),
                        ("is_rest", False),
                        ("strip_of__isnull", False),
                    ),
                    _connector="OR",
                ),
                name="strip_is_cut_from_a_patch_and_left_clear",
                violation_error_message="A strip left clear has a reason, and nothing is built on it.",
            ),
        ),
        migrations.AddField(
            model_name="fixture",
            name="surface",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="fixtures", to="rooms.surface"
            ),
        ),
        migrations.AddConstraint(
            model_name="fixture",
            constraint=models.CheckConstraint(
                condition=models.Q(("height_mm__gt", 0), ("width_mm__gt", 0)), name="fixture_has_size"
            ),
        ),
        migrations.AddConstraint(
            model_name="fixture",
            constraint=models.CheckConstraint(
                condition=models.Q(models.Q(("kind", "air_brick"), _negated=True), ("fate", "stays"), _connector="OR"),
                name="air_brick_stays",
                violation_error_message="An air brick stays, open and clear: it airs the timbers under the floor.",
            ),
        ),
        migrations.AddConstraint(
            model_name="fixture",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("is_back_to_back", False), ("kind__in", ["socket", "switch", "data"]), _connector="OR"
                ),
                name="only_boxes_are_back_to_back",
                violation_error_message="Only sockets, switches and data points lie back to back.",
            ),
        ),
    ]
