from django.db import migrations, models


def mesh_for_both_faces(apps, schema_editor):
    using = schema_editor.connection.alias
    rows = apps.get_model("batches", "Item").objects.using(using).filter(shape="slab", faces=2)
    rows.update(lies_on="mesh")


def faces_of_mesh(apps, schema_editor):
    using = schema_editor.connection.alias
    apps.get_model("batches", "Item").objects.using(using).filter(lies_on="mesh").update(faces=2)


class Migration(migrations.Migration):
    dependencies = [("batches", "0012_skin_state")]

    operations = [
        migrations.AddField(
            model_name="item",
            name="width_m",
            field=models.FloatField(blank=True, help_text="Of a slice or a stick.", null=True),
        ),
        migrations.AddField(
            model_name="item",
            name="length_m",
            field=models.FloatField(blank=True, help_text="Of a slice or a stick.", null=True),
        ),
        migrations.AddField(
            model_name="item",
            name="packing",
            field=models.CharField(
                blank=True,
                choices=[
                    ("", "as usual"),
                    ("apart", "with gaps"),
                    ("touching", "side by side, touching"),
                    ("piled", "piled up"),
                    ("poured", "poured"),
                ],
                default="",
                max_length=8,
            ),
        ),
        migrations.AddField(
            model_name="item",
            name="lies_on",
            field=models.CharField(
                choices=[
                    ("tray", "on the tray: dries from one side"),
                    ("mat", "on a mat: dries from one side"),
                    ("mesh", "on a mesh: dries from both sides"),
                ],
                default="tray",
                max_length=4,
            ),
        ),
        migrations.AddField(
            model_name="item",
            name="wrapper",
            field=models.CharField(
                choices=[("none", "nothing"), ("slit", "wrapper, slit open"), ("cup", "open cups")],
                default="none",
                max_length=4,
            ),
        ),
        migrations.AddField(
            model_name="item",
            name="opening",
            field=models.FloatField(blank=True, help_text="Share of the wrapper that is open.", null=True),
        ),
        migrations.AddField(
            model_name="item",
            name="wrapper_kg",
            field=models.FloatField(blank=True, help_text="All its wrappers; never counted as food.", null=True),
        ),
        migrations.RunPython(mesh_for_both_faces, faces_of_mesh),
        migrations.RemoveField(model_name="item", name="faces"),
    ]
