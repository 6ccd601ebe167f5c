from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('bookings', '0006_company'),
    ]

    operations = [
        migrations.AlterField(
            model_name='notice',
            name='kind',
            field=models.CharField(choices=[('batch_bad', 'A bottle turned bad'), ('session_affected', 'A session is let down'), ('overdue', 'A session was not recorded'), ('induction', 'An induction ends'), ('company', 'Company for a session')], max_length=20),
        ),
    ]
