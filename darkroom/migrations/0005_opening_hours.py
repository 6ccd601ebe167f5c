import datetime

from django.db import migrations, models

WEEKDAYS = [
    (0, 'Monday'),
    (1, 'Tuesday'),
    (2, 'Wednesday'),
    (3, 'Thursday'),
    (4, 'Friday'),
    (5, 'Saturday'),
    (6, 'Sunday'),
]


class Migration(migrations.Migration):

    dependencies = [
        ('darkroom', '0004_no_colour_alone'),
    ]

    operations = [
        migrations.CreateModel(
            name='OpeningHours',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('weekday', models.PositiveSmallIntegerField(choices=WEEKDAYS)),
                ('opens_at', models.TimeField(default=datetime.time(9, 0))),
                ('closes_at', models.TimeField(default=datetime.time(22, 0))),
            ],
            options={
                'verbose_name_plural': 'opening hours',
                'ordering': ('weekday',),
                'constraints': [
                    models.UniqueConstraint(fields=('weekday',), name='openinghours_once_a_weekday'),
                    models.CheckConstraint(condition=models.Q(('weekday__in', [0, 1, 2, 3, 4, 5, 6])), name='openinghours_weekday_known'),
                    models.CheckConstraint(condition=models.Q(('opens_at__lt', models.F('closes_at'))), name='openinghours_opens_before_closing'),
                ],
            },
        ),
        migrations.CreateModel(
            name='ClosedDate',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('date', models.DateField()),
                ('reason', models.CharField(help_text='As members read it: Stocktaking.', max_length=120)),
            ],
            options={
                'ordering': ('date',),
                'constraints': [
                    models.UniqueConstraint(fields=('date',), name='closeddate_once'),
                    models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='closeddate_says_why'),
                ],
            },
        ),
    ]
