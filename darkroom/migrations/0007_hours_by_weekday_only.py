from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ('darkroom', '0006_fill_opening_hours'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='houserules',
            name='houserules_opens_before_closing',
        ),
        migrations.RemoveField(
            model_name='houserules',
            name='opens_at',
        ),
        migrations.RemoveField(
            model_name='houserules',
            name='closes_at',
        ),
    ]
