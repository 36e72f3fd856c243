"""A model that somebody adds tomorrow is carried, or its absence has been decided."""

from django.apps import apps
from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.contrib.sessions.models import Session
from django.db import connection

from scheduling.models.changes import CalendarChange
from shop.backup.tables import WRITTEN_BY_TRIGGERS, tables

# Two are made by migrate, a session is a key to the door, and the notes of changes hold
# transaction numbers of one database.
BEHIND = {ContentType, Permission, Session, CalendarChange}
# What JSON carries as it is, and what values.py writes as text.
KINDS = {
    *("AutoField", "BigAutoField", "BigIntegerField", "IntegerField", "SmallIntegerField"),
    *("PositiveBigIntegerField", "PositiveIntegerField", "PositiveSmallIntegerField"),
    *("BooleanField", "CharField", "TextField", "SlugField", "FloatField", "JSONField"),
    *("ForeignKey", "OneToOneField"),
    *("DecimalField", "DateField", "DateTimeField", "TimeField", "DurationField", "UUIDField"),
    "BinaryField",
}


def test_every_model_is_carried_or_left_behind_on_purpose():
    carried = {table.model for table in tables()}
    assert carried | BEHIND == set(apps.get_models(include_auto_created=True))
    assert not carried & BEHIND


def test_every_table_of_the_database_belongs_to_one_of_them(db):
    known = {table.model._meta.db_table for table in tables()}
    known |= {model._meta.db_table for model in BEHIND} | {"django_migrations"}
    assert set(connection.introspection.table_names()) <= known


def test_what_is_referred_to_comes_first():
    order = {table.model: place for place, table in enumerate(tables())}
    late = {
        (table.name, target._meta.label_lower)
        for table in tables()
        for target in (field.related_model for field in table.fields)
        if isinstance(target, type) and order.get(target, -1) > order[table.model]
    }
    assert late == set()
    assert [table.name for table in tables()][-1:] == list(WRITTEN_BY_TRIGGERS)


def test_every_column_is_of_a_kind_that_the_file_can_hold():
    # A FileField would need its file in the backup as well: there is none so far.
    strange = {
        f"{table.name}.{field.name}: {field.get_internal_type()}"
        for table in tables()
        for field in table.fields
        if field.get_internal_type() not in KINDS
    }
    assert strange == set()
