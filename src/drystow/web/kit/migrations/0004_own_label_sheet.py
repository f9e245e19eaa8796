from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("site", "0003_changes_of_one_action")]

    operations = [
        migrations.AddField(
            model_name="household",
            name="own_sheet",
            field=models.JSONField(blank=True, default=dict),
        ),
    ]
