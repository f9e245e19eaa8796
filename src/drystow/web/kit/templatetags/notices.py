"""The number of the change that a message can undo: ``{{ message.extra_tags|undo_number }}``."""

from django import template

from drystow.web.kit.notices import UNDO

register = template.Library()


@register.filter
def undo_number(tags: str | None) -> str:
    """Return the number after ``undo:`` in the extra tags of a message, or nothing."""
    found = [tag.removeprefix(UNDO) for tag in (tags or "").split() if tag.startswith(UNDO)]
    return found[0] if found and found[0].isdigit() else ""
