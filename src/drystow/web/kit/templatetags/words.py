"""The engine's sentences and words in templates: ``{{ note|told }}``."""

from typing import Any

from django import template

from drystow.errors import DrystowError
from drystow.foods import marks
from drystow.foods.model import part_word
from drystow.keeping.limits import evidence_word
from drystow.messages import ranged
from drystow.sources import SHORT_MARKS
from drystow.web.kit.words import in_words, problem_words, sentence_words

register = template.Library()


@register.filter
def told(text: Any) -> str:
    """Return a sentence, a word or an error of the engine in the language of the page."""
    return problem_words(text) if isinstance(text, DrystowError) else in_words(text or "")


@register.filter
def short_mark(mark: str) -> str:
    """Return in a word or two how a value got here, in the language of the page."""
    return in_words(SHORT_MARKS[mark])


@register.filter
def evidence(text: str) -> str:
    """Return a class of evidence in a cook's word, in the language of the page."""
    return in_words(evidence_word(text))


@register.filter
def food_part(name: str) -> str:
    """Return the name of a part of a food in the language of the page."""
    return in_words(part_word(name))


@register.filter
def up_to(low: str, high: str) -> str:
    """Return a range of the engine's quantities, its unit once where both ends have the same."""
    return in_words(ranged(in_words(low), in_words(high)))


@register.filter
def as_sentence(text: Any) -> str:
    """Return a note of the engine, or an error, as a whole sentence in the language of the page."""
    return sentence_words(problem_words(text) if isinstance(text, DrystowError) else text or "")


@register.filter
def told_all(texts: Any) -> list[str]:
    """Return several of them."""
    return [in_words(text) for text in texts]


@register.filter
def raw_line(raw_animal: bool | None) -> str:
    """Return the line in capitals for raw animal food, also where it is not stated whether it is."""
    return in_words(marks.raw_line(raw_animal))


@register.filter
def raw_tag(raw_animal: bool | None) -> str:
    """Return the short mark of raw animal food, also where it is not stated whether it is."""
    return in_words(marks.raw_tag(raw_animal))


@register.filter
def raw_note(raw_animal: bool | None) -> str:
    """Return a sentence on raw animal food, also where it is not stated whether it is."""
    return in_words(marks.raw_note(raw_animal))


@register.filter
def allergen_line(allergens: Any) -> str:
    """Return the line on allergens, also where they are not stated."""
    return in_words(marks.allergen_line(allergens))
