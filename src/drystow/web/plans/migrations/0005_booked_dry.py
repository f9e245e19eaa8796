from django.db import migrations, models

from drystow.web.kit.old_answers import dry_times


def take_over(apps, schema_editor):
    using = schema_editor.connection.alias
    booked = apps.get_model("plans", "Booked").objects.using(using)
    for made in apps.get_model("plans", "Made").objects.using(using).iterator():
        for batch, dry in dry_times(made.result).items():
            booked.filter(plan=made.plan_id, batch=batch).update(dry=dry)


class Migration(migrations.Migration):
    dependencies = [
        ("plans", "0004_season_uncertain"),
    ]

    operations = [
        migrations.AddField(
            model_name="booked",
            name="dry",
            field=models.DateTimeField(blank=True, help_text="When it was to be dry.", null=True),
        ),
        migrations.RunPython(take_over, migrations.RunPython.noop),
    ]
