"""Programs that fill, move and print a database, each in a process and database of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]

# Content types and permissions are numbered by each database for itself: here one of
# them comes again under another key, as in a shop that has lived through some versions.
READY = """
import json, sys
from pathlib import Path
import django
django.setup()
from django.apps import apps
from django.contrib.auth.models import Group, Permission
from django.contrib.contenttypes.models import ContentType
from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
call_command("migrate", verbosity=0)
if {renumber}:
    ContentType.objects.get(app_label="shop", model="job").delete()
    call_command("migrate", verbosity=0)
"""
FILL = """
from django.contrib.admin.models import LogEntry
from tests import factories as make
from tests.scheduling.selectors.busy import busy_shop
small, jobs = busy_shop(2)
make.stocked_shop()
make.QuoteFactory(shop=small.shop, number="Q-7")
make.MaterialUseFactory(job=jobs[0])
make.PhotoFactory(shop=small.shop, image=bytes(range(256)))
odd = "Zoë Łuk, née \\u2028 'O\\\\N\\"'\\n\\t\U0001f697"
make.CustomerFactory(shop=small.shop, name=odd)
may = Permission.objects.get(codename="change_job")
group = Group.objects.create(name="Weekend")
group.permissions.add(may)
small.owner.user.groups.add(group)
small.owner.user.user_permissions.add(may)
LogEntry.objects.create(user=small.owner.user, content_type=may.content_type, object_id="1",
                        object_repr="x", action_flag=2, change_message="[]")
Session.objects.create(session_key="s", session_data="x", expire_date=make.NOW)
"""
RESTORE = "call_command('restore', {file!r})\n"
BACKUP = "call_command('backup', {file!r})\n"
# By another way than the backup's: Django's own reading of each row, printed.
PRINT = """
def plain(value):
    return json.dumps(value, sort_keys=True, default=said)

def said(value):
    return bytes(value).hex() if isinstance(value, (bytes, memoryview)) else repr(value)

found = {}
for model in apps.get_models(include_auto_created=True):
    names = [f.attname for f in model._meta.concrete_fields]
    if model in (ContentType, Permission):
        continue
    if any(f.related_model in (ContentType, Permission) for f in model._meta.concrete_fields):
        names = [f"{f.name}__{'model' if f.related_model is ContentType else 'codename'}"
                 if f.related_model in (ContentType, Permission) else f.attname
                 for f in model._meta.concrete_fields]
    found[model._meta.label] = sorted(plain(row) for row in model._base_manager.values_list(*names))
Path({out!r}).write_text(json.dumps(found))
"""
# What the database must go on refusing, and the key that a new row gets.
TRY = """
from datetime import timedelta
from estimating.models import Quote
from scheduling.models import Hold
from shop.models import Customer

def refused(change):
    try:
        with transaction.atomic():
            change()
    except DatabaseError as error:
        return str(error)
    return "allowed"

hold, last = Hold.objects.first(), Customer.objects.order_by("-pk").first()
def twice():
    Hold.objects.create(shop_id=hold.shop_id, resource_id=hold.resource_id, job_id=hold.job_id,
                        start=hold.start, end=hold.end + timedelta(minutes=1))
new = Customer.objects.create(shop_id=last.shop_id, name="Next", email="next@example.org")
said = {
    "overlap": refused(twice),
    "quote": refused(lambda: Quote.objects.update(price=1)),
    "next": new.pk - last.pk,
    "sessions": Session.objects.count(),
}
Path({out!r}).write_text(json.dumps(said))
"""


def run(code: str, url: str, var: Path) -> None:
    """Run a program against the database at ``url``."""
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env={
            **os.environ,
            "DJANGO_SETTINGS_MODULE": "shop.settings",
            "HALFMIL_DATABASE_URL": url,
            "HALFMIL_VAR_DIR": str(var),
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-3000:]
