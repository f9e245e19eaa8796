"""Django's tags of translation under their own name, with one difference: a value in a text is written ``{name}``.

So every text of the program, of the engine and of the pages, has one kind of placeholder for translators. Django finds
this library in place of its own, because it has the same name and belongs to an app.
"""

from typing import Any

from django.template.base import Parser, Token, TokenType, render_value_in_context
from django.template.context import Context
from django.template.library import Library
from django.templatetags import i18n
from django.utils.safestring import SafeString
from django.utils.translation import gettext, ngettext, trim_whitespace

register = Library()
register.tags.update(i18n.register.tags)
register.filters.update(i18n.register.filters)


class BracesNode(i18n.BlockTranslateNode):
    """``{% blocktranslate %}`` whose text reaches translators with its values in braces."""

    def render_token_list(self, tokens: list[Token]) -> tuple[str, list[str]]:
        """Return the text that translators see, and the names of the values in it."""
        parts, names = [], []
        for token in tokens:
            if token.token_type == TokenType.VAR:
                names.append(token.contents)
                parts.append(f"{{{token.contents}}}")
            else:
                parts.append(token.contents.replace("{", "{{").replace("}", "}}"))
        text = "".join(parts)
        return (trim_whitespace(text) if self.trimmed else text), names

    def render(self, context: Context, nested: bool = False) -> str:
        """Return the text in the language of the page, or keep it under the name after ``asvar``."""
        with context.push(**{name: value.resolve(context) for name, value in self.extra_context.items()}):
            source, names = self.render_token_list(self.singular)
            if self.plural and self.counter is not None and self.countervar is not None:
                count = context[self.countervar] = self.counter.resolve(context)
                many, more = self.render_token_list(self.plural)
                source, text, names = (source if count == 1 else many), ngettext(source, many, count), names + more
            else:
                text = gettext(source)
            values = {name: render_value_in_context(context.get(name, ""), context) for name in names}
            try:
                text = text.format_map(values)
            except (KeyError, ValueError):  # a slip of a translator
                text = source.format_map(values)
        if self.asvar:
            context[self.asvar] = SafeString(text)
            return ""
        return text


@register.tag("blocktranslate")
def block_translate(parser: Parser, token: Token) -> BracesNode:
    """Return what Django makes of the tag, with values in braces."""
    node: Any = i18n.do_block_translate(parser, token)
    node.__class__ = BracesNode
    return node


del register.tags["blocktrans"]
