"""Pages of customers: one for each quote, under a signed address."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("estimating", "0004_photos"),
        ("shop", "0004_customer_choices"),
    ]

    operations = [
        migrations.CreateModel(
            name="CustomerPage",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("quote_number", models.CharField(max_length=20)),
                (
                    "code",
                    models.CharField(
                        blank=True,
                        help_text="Empty: withdrawn.",
                        max_length=32,
                        null=True,
                        unique=True,
                    ),
                ),
                ("made_at", models.DateTimeField()),
                (
                    "made_by",
                    models.ForeignKey(
                        null=True,
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
                "constraints": [
                    models.UniqueConstraint(
                        fields=("shop", "quote_number"), name="customer_page_once_a_quote"
                    )
                ],
            },
        ),
    ]
