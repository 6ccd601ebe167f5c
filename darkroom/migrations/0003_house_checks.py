import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('darkroom', '0002_inductions'),
    ]

    operations = [
        migrations.CreateModel(
            name='HouseCheck',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.SlugField(max_length=24, unique=True)),
                ('name', models.CharField(help_text='As it should be: Extraction is running.', max_length=80)),
                ('how', models.CharField(blank=True, help_text='What to look at, and how.', max_length=300)),
                ('every_days', models.PositiveSmallIntegerField()),
                ('gates', models.CharField(choices=[('none', 'Nothing'), ('colour_and_toner', 'Colour and toner work'), ('all', 'Every session')], default='none', max_length=20)),
                ('by_stewards', models.BooleanField(default=False, help_text='Else any member may look.', verbose_name='by stewards only')),
                ('is_in_use', models.BooleanField(default=True)),
            ],
            options={
                'ordering': ('every_days', 'name', 'pk'),
                'constraints': [models.CheckConstraint(condition=models.Q(('every_days__gt', 0)), name='housecheck_every_positive'), models.CheckConstraint(condition=models.Q(('gates__in', ['none', 'colour_and_toner', 'all'])), name='housecheck_gates_known')],
            },
        ),
        migrations.CreateModel(
            name='CheckMark',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('is_good', models.BooleanField()),
                ('note', models.CharField(blank=True, max_length=300)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('house_check', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='marks', to='darkroom.housecheck')),
            ],
            options={
                'ordering': ('-at', '-pk'),
                'indexes': [models.Index(fields=['house_check', '-at'], name='checkmark_latest')],
                'constraints': [models.CheckConstraint(condition=models.Q(('is_good', True), models.Q(('note', ''), _negated=True), _connector='OR'), name='checkmark_bad_says_what')],
            },
        ),
    ]
