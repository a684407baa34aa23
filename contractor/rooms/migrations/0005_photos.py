import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import contractor.rooms.models.photos


class Migration(migrations.Migration):

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
        ('rooms', '0004_improvement'),
    ]

    operations = [
        migrations.CreateModel(
            name='Photo',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('full', models.FileField(upload_to=contractor.rooms.models.photos.photo_path)),
                ('small', models.FileField(upload_to=contractor.rooms.models.photos.photo_path)),
                ('width_px', models.PositiveIntegerField()),
                ('height_px', models.PositiveIntegerField()),
                ('caption', models.CharField(blank=True, max_length=120)),
                ('added_at', models.DateTimeField(auto_now_add=True)),
                ('added_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('patch', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='photos', to='rooms.patch')),
                ('room', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='photos', to='rooms.room')),
                ('surface', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='photos', to='rooms.surface')),
            ],
            options={
                'ordering': ['room', 'pk'],
            },
        ),
    ]
