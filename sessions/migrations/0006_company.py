import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('bookings', '0005_heat_constants'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='session',
            name='companion',
            field=models.ForeignKey(blank=True, help_text='Who comes along, where the house lets nobody work alone.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddConstraint(
            model_name='session',
            constraint=models.CheckConstraint(condition=models.Q(('companion__isnull', True), models.Q(('companion', models.F('member')), _negated=True), _connector='OR'), name='session_companion_is_another'),
        ),
    ]
