from typing import Any

from django.db import migrations, models

from kitting.box_letters import letters


def give(apps: Any, schema_editor: Any) -> None:
    """Each kit that is open bears a letter of its own."""
    kits = apps.get_model("kitting", "Kit").objects.filter(released_at__isnull=False, closed_by=None)
    for pk, letter in zip(kits.order_by("pk").values_list("pk", flat=True), letters(), strict=False):
        kits.filter(pk=pk).update(letter=letter)


class Migration(migrations.Migration):
    dependencies = [
        ("kitting", "0014_screens"),
    ]

    operations = [
        migrations.AddField(
            model_name="kit",
            name="letter",
            field=models.CharField(blank=True, default="", max_length=2),
            preserve_default=False,
        ),
        migrations.RunPython(give, migrations.RunPython.noop),
    ]
