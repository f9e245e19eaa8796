"""How long a package keeps and why stands in the words of now, by which it is told and by which a date of one's own is
known from a calculated one."""

from typing import Any

from django.db import migrations

BASIS = {
    "planning estimate, no storage study behind it": "planning estimate, not from a storage study",
    "planning estimate, carried over from a storage study of potato, apple and carrot (24 months)": (
        "planning estimate, based on a 24-month storage study of potato, apple and carrot"
    ),
    "storage study: potato, apple and carrot with absorbers; beyond its 24 months extrapolated": (
        "24-month storage study of potato, apple and carrot with absorbers; estimated beyond that"
    ),
    "calculated from package figures, no storage study behind it": (
        "calculated from the package's figures, not from a storage study"
    ),
    "as written on the package": "as printed on the package",
}
LIMITS = {"colour": "color"}


def say_it_in_the_words_of_now(apps: Any, schema_editor: Any) -> None:
    """Replace each known sentence of an earlier version."""
    packages = apps.get_model("pantry", "Package").objects.using(schema_editor.connection.alias)
    for old, new in BASIS.items():
        packages.filter(basis=old).update(basis=new)
    for old, new in LIMITS.items():
        packages.filter(limit=old).update(limit=new)


class Migration(migrations.Migration):
    dependencies = [("pantry", "0009_marks_are_stated")]

    operations = [migrations.RunPython(say_it_in_the_words_of_now, migrations.RunPython.noop)]
