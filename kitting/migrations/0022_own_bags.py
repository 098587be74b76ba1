import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0019_sent_photo'),
        ('kitting', '0021_leads'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RenameField(model_name='carried', old_name='van', new_name='place'),
        migrations.CreateModel(
            name='OwnBag',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField(auto_now_add=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('person', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='own_bag', to=settings.AUTH_USER_MODEL)),
                ('place', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='own_bag', to='inventory.place')),
            ],
        ),
    ]
