from django.db import migrations


def name_anew(apps, schema_editor):
    """An own bag bears the name that its person has now: earlier ones kept the first."""
    for bag in apps.get_model("kitting", "OwnBag").objects.select_related("person", "place"):
        bag.place.name = f"{bag.person.name}'s bag"[:120]
        bag.place.save(update_fields=["name"])


class Migration(migrations.Migration):

    dependencies = [
        ("kitting", "0022_own_bags"),
    ]

    operations = [migrations.RunPython(name_anew, migrations.RunPython.noop)]
