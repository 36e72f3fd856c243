"""A shop may change the figures that its calendar and messages go by."""

import datetime
import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("scheduling", "0002_holds_never_overlap"),
        ("shop", "0001_initial"),
    ]

    operations = [
        migrations.CreateModel(
            name="CalendarPolicy",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "horizon_days",
                    models.PositiveSmallIntegerField(
                        default=182, help_text="How far ahead a place is looked for."
                    ),
                ),
                (
                    "day_before_at",
                    models.TimeField(
                        default=datetime.time(18, 0),
                        help_text="When the evening before a visit is written to.",
                    ),
                ),
                (
                    "first_inspection_days",
                    models.PositiveSmallIntegerField(
                        default=30, help_text="From the hand-over to the first look at the coating."
                    ),
                ),
                (
                    "bay_c",
                    models.FloatField(
                        default=20.0,
                        help_text="Temperature assumed in a bay where none is logged, °C.",
                    ),
                ),
                (
                    "send_tries",
                    models.PositiveSmallIntegerField(
                        default=5,
                        help_text="How often a message is tried before it counts as failed.",
                    ),
                ),
                (
                    "shop",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="calendar_policy",
                        to="shop.shop",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "calendar policies",
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("horizon_days__gte", 7), ("horizon_days__lte", 730)),
                        name="policy_horizon_is_bounded",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("bay_c__gte", -20), ("bay_c__lte", 50)),
                        name="policy_bay_c_is_plausible",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("send_tries__gte", 1)), name="policy_tries_at_least_1"
                    ),
                ],
            },
        ),
    ]
