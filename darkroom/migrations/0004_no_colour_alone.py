from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('darkroom', '0003_house_checks'),
    ]

    operations = [
        migrations.AddField(
            model_name='houserules',
            name='no_colour_alone',
            field=models.BooleanField(default=False, help_text='Colour and toner work only while somebody else is in the house: booked for the same time, or named as company.'),
        ),
    ]
