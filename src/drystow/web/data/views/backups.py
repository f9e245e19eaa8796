"""The whole kitchen as one file, out and in."""

import tempfile

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from drystow.errors import InputError
from drystow.web.accounts.rights import right
from drystow.web.data.backup import write_backup
from drystow.web.data.forms import LoadFileForm, RestoreForm
from drystow.web.data.restore import restore_backup
from drystow.web.data.views.overview import data_page
from drystow.web.data.views.sheets import file_name
from drystow.web.kit.words import in_words


@right(reads="owner")
def take_everything(request: HttpRequest) -> FileResponse:
    """Send the backup."""
    file = tempfile.TemporaryFile()  # noqa: SIM115 (the response closes it)
    write_backup(file)
    file.seek(0)
    name = file_name("backup", "zip")
    return FileResponse(file, as_attachment=True, filename=name, content_type="application/zip")


@right(writes="owner")
def restore(request: HttpRequest) -> HttpResponse:
    """Read a backup in."""
    form = RestoreForm(request.POST, request.FILES)
    if form.is_valid():
        try:
            done = restore_backup(form.cleaned_data["backup"], replace=form.cleaned_data["replace"])
        except InputError as problem:
            form.add_error("backup", in_words(problem.message))
        else:
            count = sum(done.counts.values())
            words = ngettext("{count} record was restored.", "{count} records were restored.", count)
            kept = _("What was here before is saved in {path}.").format(path=done.kept) if done.kept else ""
            messages.success(request, " ".join((words.format(count=count), kept, *map(in_words, done.notes))).strip())
            return redirect("data")
    return data_page(request, LoadFileForm(), form)
