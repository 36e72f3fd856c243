"""Whether customers may choose less or more than was offered."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0003_payments"),
    ]

    operations = [
        migrations.AddField(
            model_name="shop",
            name="customer_choices",
            field=models.BooleanField(
                db_default=True,
                default=True,
                help_text="On their page: a little less or more than was offered, at its price.",
                verbose_name="customers may choose the finish",
            ),
        ),
    ]
