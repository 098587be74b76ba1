"""Whose hands held the scanner gets rows of its own; those of earlier events come from their lines."""

import json

import django.db.models.deletion
from django.apps.registry import Apps
from django.conf import settings
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

from inventory.codes import own
from inventory.codes.errors import CodeError

AT_ONCE = 2000


def from_lines(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """A row for each event whose line bears the badge of a person."""
    events, held = apps.get_model("inventory", "Event"), apps.get_model("inventory", "Held")
    people = set(apps.get_model("inventory", "Person").objects.values_list("pk", flat=True))
    told = events.objects.filter(line__contains='"hands":').values_list("pk", "line")
    rows = []
    for pk, line in told.iterator(AT_ONCE):
        try:
            read = own.parse(str(json.loads(line).get("hands", "")))
        except CodeError:
            continue
        if read.kind == "person" and read.number in people:
            rows.append(held(event_id=pk, person_id=read.number))
    held.objects.bulk_create(rows, AT_ONCE)


class Migration(migrations.Migration):
    """One table, filled."""

    dependencies = [
        ("inventory", "0017_label_symbology"),
    ]

    operations = [
        migrations.CreateModel(
            name="Held",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("event", models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name="held", to="inventory.event")),
                ("person", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="held", to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.RunPython(from_lines, migrations.RunPython.noop, elidable=True),
    ]
