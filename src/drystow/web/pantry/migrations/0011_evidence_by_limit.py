"""What one storage study was stretched to is no class of evidence any more: such dates are estimates of before."""

from typing import Any

from django.db import migrations

EARLIER = "planning estimate of an earlier version"
BASIS = {
    "planning estimate, not from a storage study": EARLIER,
    "planning estimate, based on a 24-month storage study of potato, apple and carrot": EARLIER,
    "24-month storage study of potato, apple and carrot with absorbers; estimated beyond that": EARLIER,
}


def say_that_it_is_older(apps: Any, schema_editor: Any) -> None:
    """Replace each known sentence of an earlier version."""
    packages = apps.get_model("pantry", "Package").objects.using(schema_editor.connection.alias)
    for old, new in BASIS.items():
        packages.filter(basis=old).update(basis=new)


class Migration(migrations.Migration):
    dependencies = [("pantry", "0010_sentences_of_now")]

    operations = [migrations.RunPython(say_that_it_is_older, migrations.RunPython.noop)]
