"""Every form that writes carries a key of its own, beside the token that Django asks of it."""

import secrets

from django import template
from django.template.base import Parser, Token
from django.template.context import Context
from django.template.defaulttags import CsrfTokenNode
from django.utils.html import format_html

FIELD = "once"
LENGTH = 12  # random bytes

register = template.Library()


class FormStart(CsrfTokenNode):
    """The hidden fields of a form that writes."""

    def render(self, context: Context) -> str:
        """Return the token against forms of other sites, and the key by which a repeated form is known.

        The key is only text on the page: showing a form writes nothing.
        """
        key = secrets.token_urlsafe(LENGTH)
        field = '{}<input type="hidden" name="{}" value="{}" autocomplete="off">'
        return format_html(field, super().render(context), FIELD, key)


@register.tag
def csrf_token(parser: Parser, token: Token) -> FormStart:
    """Take the place of Django's tag, which stands in every form that writes."""
    return FormStart()
