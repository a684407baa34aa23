import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('billing', '0002_entries_that_take_back'),
        ('site', '0001_site'),
    ]

    operations = [
        migrations.AddField(
            model_name='variation',
            name='act',
            field=models.OneToOneField(blank=True, help_text='What raised it on site.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='site.act'),
        ),
    ]
