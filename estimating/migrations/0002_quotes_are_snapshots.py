"""PostgreSQL refuses to change what a quote offered.

SQLite gets the same rule from ``estimating/guards.py``, laid after every
migrate, because SQLite drops a table's triggers whenever Django rebuilds it.
"""

from django.db import migrations

FUNCTION = """
CREATE FUNCTION estimating_quote_is_a_snapshot() RETURNS trigger AS $$
BEGIN
  IF (OLD.shop_id, OLD.number, OLD.version, OLD.customer_id, OLD.vehicle_id, OLD.currency,
      OLD.price, OLD.price_p10, OLD.price_p50, OLD.price_p90, OLD.tax, OLD.margin,
      OLD.created_at, OLD.valid_until, OLD.request, OLD.parameters, OLD.estimate,
      OLD.operations, OLD.materials)
     IS DISTINCT FROM
     (NEW.shop_id, NEW.number, NEW.version, NEW.customer_id, NEW.vehicle_id, NEW.currency,
      NEW.price, NEW.price_p10, NEW.price_p50, NEW.price_p90, NEW.tax, NEW.margin,
      NEW.created_at, NEW.valid_until, NEW.request, NEW.parameters, NEW.estimate,
      NEW.operations, NEW.materials)
  THEN
    RAISE EXCEPTION 'a quote is a snapshot: make a new version' USING ERRCODE = '23514';
  END IF;
  RETURN NEW;
END $$ LANGUAGE plpgsql
"""
TRIGGER = """
CREATE TRIGGER quote_is_a_snapshot BEFORE UPDATE ON estimating_quote
FOR EACH ROW EXECUTE FUNCTION estimating_quote_is_a_snapshot()
"""


def add(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(FUNCTION)
        schema_editor.execute(TRIGGER)


def remove(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("DROP TRIGGER quote_is_a_snapshot ON estimating_quote")
        schema_editor.execute("DROP FUNCTION estimating_quote_is_a_snapshot()")


class Migration(migrations.Migration):
    dependencies = [("estimating", "0001_initial")]
    operations = [migrations.RunPython(add, remove)]
