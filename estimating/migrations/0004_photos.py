"""Photographs of inspections."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("estimating", "0003_gauge_calibrations"),
        ("shop", "0003_payments"),
    ]

    operations = [
        migrations.CreateModel(
            name="Photo",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("panel", models.CharField(blank=True, max_length=24)),
                (
                    "kind",
                    models.CharField(
                        blank=True, help_text="The finding that it shows.", max_length=20
                    ),
                ),
                (
                    "stage",
                    models.CharField(
                        choices=[("before", "Before the work"), ("after", "After the work")],
                        default="before",
                        max_length=6,
                    ),
                ),
                ("taken_at", models.DateTimeField()),
                ("digest", models.CharField(help_text="SHA-256 of the photograph.", max_length=64)),
                ("width", models.PositiveSmallIntegerField()),
                ("height", models.PositiveSmallIntegerField()),
                ("image", models.BinaryField(help_text="JPEG.")),
                ("small", models.BinaryField(help_text="JPEG for lists.")),
                ("removed_at", models.DateTimeField(blank=True, null=True)),
                (
                    "inspection",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="photos",
                        to="estimating.inspection",
                    ),
                ),
                (
                    "member",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.member",
                    ),
                ),
                (
                    "shop",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.shop",
                    ),
                ),
            ],
            options={
                "ordering": ["taken_at", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("inspection", "panel", "digest"), name="photo_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("width__gte", 1),
                            ("width__lte", 2048),
                            ("height__gte", 1),
                            ("height__lte", 2048),
                        ),
                        name="photo_bounded",
                    ),
                ],
            },
        ),
    ]
