"""A code that nobody knows is a kind of problem of its own; until now its words told it."""

from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

from inventory.models import guard

KINDS = [
    ("missing", "missing"),
    ("damaged", "damaged"),
    ("wrong", "wrong one"),
    ("surplus", "one too many"),
    ("clash", "claimed twice"),
    ("unknown", "not known"),
    ("code", "unknown code"),
    ("count", "count this bin"),
    ("skipped", "a step was not scanned"),
    ("refill", "refill this bin"),
    ("refused", "refused at the door"),
    ("device", "a device's numbers repeat"),
    ("box", "a box holds something else"),
    ("not done", "not done"),
]


def by_their_words(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Give those of before their kind, answered or not: nothing else of them changes."""
    found = apps.get_model("inventory", "Finding").objects.filter(
        kind="unknown", unit=None, item=None, words__endswith=" is not known."
    )
    told = found.filter(words__startswith="Code ")
    if told.exists():
        with guard.lifted(schema_editor.connection):  # the table only grows, but for this
            told.update(kind="code")


def back(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """The version before knows no such kind."""
    told = apps.get_model("inventory", "Finding").objects.filter(kind="code")
    if told.exists():
        with guard.lifted(schema_editor.connection):
            told.update(kind="unknown")


class Migration(migrations.Migration):
    """One more choice, and the rows that are it."""

    dependencies = [
        ("inventory", "0025_finding_of_a_code"),
    ]

    operations = [
        migrations.AlterField(
            model_name="finding",
            name="kind",
            field=models.CharField(choices=KINDS, max_length=10),
        ),
        migrations.RunPython(by_their_words, back, elidable=True),
    ]
