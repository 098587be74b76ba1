"""An edition is current from a manager's word on; those in use until now stay so."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


def keep_current(apps, schema_editor):
    """Until now: the newest released edition of a family, else its newest trial."""
    edition_of = apps.get_model("kitting", "FamilyEdition")
    for name in set(edition_of.objects.values_list("name", flat=True)):
        editions = edition_of.objects.filter(name=name).order_by("-edition")
        current = editions.filter(status="released").first() or editions.first()
        edition_of.objects.filter(pk=current.pk).update(current_from=current.loaded_at)


class Migration(migrations.Migration):
    dependencies = [
        ("kitting", "0001_initial"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name="familyedition",
            name="current_from",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="familyedition",
            name="made_current_by",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.RunPython(keep_current, migrations.RunPython.noop),
    ]
