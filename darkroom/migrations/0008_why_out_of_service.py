from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('darkroom', '0007_hours_by_weekday_only'),
    ]

    operations = [
        migrations.AddField(
            model_name='equipment',
            name='out_reason',
            field=models.CharField(blank=True, max_length=300, verbose_name='why out of service'),
        ),
        migrations.AddField(
            model_name='equipment',
            name='out_since',
            field=models.DateTimeField(blank=True, null=True, verbose_name='out of service since'),
        ),
    ]
