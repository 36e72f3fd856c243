"""A name for each save of an inspection, so that one sent twice counts once."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("estimating", "0005_customer_pages"),
        ("shop", "0003_payments"),
    ]

    operations = [
        migrations.AddField(
            model_name="inspection",
            name="save_token",
            field=models.CharField(
                blank=True,
                help_text="Name that the browser gave the last save, so that it counts once.",
                max_length=40,
                null=True,
            ),
        ),
        migrations.AddConstraint(
            model_name="inspection",
            constraint=models.UniqueConstraint(
                fields=("shop", "save_token"), name="inspection_save_once"
            ),
        ),
    ]
