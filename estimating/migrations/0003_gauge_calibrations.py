"""Calibrations of gauges; test spots and protection film of panels."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("estimating", "0002_quotes_are_snapshots"),
        ("shop", "0001_initial"),
    ]

    operations = [
        migrations.AddField(
            model_name="panelfinding",
            name="covered",
            field=models.BooleanField(
                blank=True,
                help_text="Protection film over the paint: readings are not paint.",
                null=True,
            ),
        ),
        migrations.AddField(
            model_name="panelfinding",
            name="test_spot",
            field=models.JSONField(
                blank=True,
                help_text="Level tried on a section, readings before and after, share cleared.",
                null=True,
            ),
        ),
        migrations.CreateModel(
            name="GaugeCalibration",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                (
                    "shims_um",
                    models.JSONField(help_text="Pairs of true and read thickness, in micrometres."),
                ),
                (
                    "passed",
                    models.BooleanField(help_text="Each shim read within the gauge's accuracy."),
                ),
                (
                    "gauge",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="calibrations",
                        to="estimating.gauge",
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
            ],
            options={
                "ordering": ["-at", "-pk"],
                "indexes": [
                    models.Index(fields=["gauge", "at"], name="estimating__gauge_i_c6fda4_idx")
                ],
            },
        ),
    ]
