from django.db import migrations

from drystow.web.kit.old_answers import fields_of


def take_over(apps, schema_editor):
    using = schema_editor.connection.alias
    answers = apps.get_model("site", "Answer").objects.using(using)
    for row in apps.get_model("batches", "Judgement").objects.using(using).values("batch_id", "at"):
        answers.create(**fields_of("batches.judgement", row))


class Migration(migrations.Migration):
    dependencies = [
        ("batches", "0010_struck_out"),
        ("site", "0010_answer"),
    ]

    operations = [
        migrations.RunPython(take_over, migrations.RunPython.noop),
        migrations.DeleteModel(name="Judgement"),
    ]
