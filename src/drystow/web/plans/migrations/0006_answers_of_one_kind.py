from django.db import migrations

from drystow.web.kit.old_answers import OLD, fields_of


def take_over(apps, schema_editor):
    using = schema_editor.connection.alias
    answers = apps.get_model("site", "Answer").objects.using(using)
    for label, (_kind, subject) in OLD.items():
        app, model = label.split(".")
        if app == "plans":
            more = ("kind", "asked") if model == "search" else ()
            for row in apps.get_model(app, model).objects.using(using).values(subject, "at", *more):
                answers.create(**fields_of(label, row))


class Migration(migrations.Migration):
    dependencies = [
        ("plans", "0005_booked_dry"),
        ("site", "0010_answer"),
    ]

    operations = [
        migrations.RunPython(take_over, migrations.RunPython.noop),
        migrations.DeleteModel(name="Made"),
        migrations.DeleteModel(name="Search"),
        migrations.DeleteModel(name="Tried"),
    ]
