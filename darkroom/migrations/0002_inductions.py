import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('darkroom', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='InductionTopic',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.SlugField(max_length=24, unique=True)),
                ('name', models.CharField(max_length=80)),
                ('about', models.CharField(help_text='What is shown, and what it is good for.', max_length=400)),
                ('valid_days', models.PositiveSmallIntegerField(blank=True, help_text='Good for so many days; empty: for good.', null=True)),
                ('allows', models.CharField(blank=True, choices=[('mix', 'Mix'), ('top_up', 'Top up'), ('pour_out', 'Pour out')], editable=False, max_length=12, null=True, unique=True)),
                ('givers', models.ManyToManyField(blank=True, help_text='Who gives it; nobody named: any steward.', related_name='gives', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('name', 'pk'),
            },
        ),
        migrations.CreateModel(
            name='Induction',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('given_at', models.DateTimeField()),
                ('entered_at', models.DateTimeField()),
                ('expires_at', models.DateTimeField(blank=True, null=True)),
                ('renewed_at', models.DateTimeField(blank=True, null=True)),
                ('withdrawn_at', models.DateTimeField(blank=True, null=True)),
                ('reason', models.CharField(blank=True, help_text='Why it was withdrawn.', max_length=300)),
                ('given_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('member', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='inductions', to=settings.AUTH_USER_MODEL)),
                ('withdrawn_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('topic', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='inductions', to='darkroom.inductiontopic')),
            ],
            options={
                'ordering': ('-given_at', '-pk'),
            },
        ),
        migrations.AddField(
            model_name='equipment',
            name='topic',
            field=models.ForeignKey(blank=True, help_text='What a member must have been shown before they book it.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='equipment', to='darkroom.inductiontopic', verbose_name='induction'),
        ),
        migrations.AddConstraint(
            model_name='inductiontopic',
            constraint=models.CheckConstraint(condition=models.Q(('valid_days__isnull', True), ('valid_days__gt', 0), _connector='OR'), name='inductiontopic_validity_positive'),
        ),
        migrations.AddConstraint(
            model_name='induction',
            constraint=models.UniqueConstraint(condition=models.Q(('renewed_at__isnull', True), ('withdrawn_at__isnull', True)), fields=('member', 'topic'), name='induction_one_current'),
        ),
        migrations.AddConstraint(
            model_name='induction',
            constraint=models.CheckConstraint(condition=models.Q(('expires_at__isnull', True), ('expires_at__gt', models.F('given_at')), _connector='OR'), name='induction_expires_after_giving'),
        ),
        migrations.AddConstraint(
            model_name='induction',
            constraint=models.CheckConstraint(condition=models.Q(('given_at__lte', models.F('entered_at'))), name='induction_not_in_the_future'),
        ),
        migrations.AddConstraint(
            model_name='induction',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('reason', ''), ('withdrawn_at__isnull', True), ('withdrawn_by__isnull', True)), models.Q(('withdrawn_at__isnull', False), ('withdrawn_by__isnull', False), models.Q(('reason', ''), _negated=True)), _connector='OR'), name='induction_withdrawn_with_reason'),
        ),
    ]
