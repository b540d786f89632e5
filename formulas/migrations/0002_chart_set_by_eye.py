from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('formulas', '0001_initial'),
    ]

    operations = [
        migrations.AlterField(
            model_name='chartentry',
            name='standing',
            field=models.CharField(choices=[('assumed', 'model assumption'), ('measured', 'measured swatch'), ('by_eye', 'set by eye')], max_length=10),
        ),
    ]
