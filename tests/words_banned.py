"""Words that `docs/words.md` has a better one for, in each language, British spellings among them."""

import re
from collections.abc import Iterator

from drystow.sources import bibliography

BANNED = {
    "en": (
        r"vapours?", r"colour\w*", r"mould\w*", r"fibres?", r"grey", r"labelled", r"afterwards", r"\w+isation",
        r"litres?", r"centimetres?", r"millimetres?", r"neighbours?", r"flavours?", r"somebody", r"nobody",
        r"work(s|ed)? out", r"written down", r"power cuts?", r"power failures?", r"predict\w*", r"tares?", r"wished",
        r"dry on", r"put back", r"strike out", r"struck out", r"household freeze-dryer", r"reckon\w*",
        r"class defaults?", r"class values?", r"out of line", r"in line", r"the house", r"residual moisture",
        r"vapor traps?", r"take back", r"take along", r"bin", r"shop", r"shops", r"curves?", r"nearest plan",
        r"lots files?", r"counters?", r"schedules?", r"packets?", r"freeze again", r"calculated runs?", r"ready by",
        r"unloaded by", r"(no|a|the) (dryer|food|person|place|container|sensor) is called", r"ensembles?",
        r"percentiles?", r"invalid",
    ),
    "es": (
        r"porci[oó]n(es)?", r"partidas? de alimentos?", r"recipientes?", r"tarros?", r"m[aá]quinas?", r"aparatos?",
        r"secadoras?", r"trampas? de vapor", r"equipos? de fr[ií]o", r"curvas?", r"agua que queda", r"taras?",
        r"(?-i:Vac[ií]o:)", r"anot(ar|e|en|a|ó|ad[oa]s?|amos)", r"introdu(cir|zca|zcan|cid[oa]s?)", r"llevarse",
        r"apag[oó]n(es)?", r"(lo|valor(es)?|n[uú]meros?) usual(es)?", r"perfil(es)?", r"valores de partida",
        r"comercios?", r"frigor[ií]fico\w*", r"neveras?", r"zumos?", r"carne picada", r"costes?", r"ordenador(es)?",
        r"la casa", r"cestos?", r"predicci[oó]n\w*", r"pron[oó]stico\w*", r"t[uú]", r"tus", r"inv[aá]lid\w*",
        r"(entrar|entre) con su contraseña", r"marcha simulada", r"alguna marcha", r"recuperar", r"canal del sensor",
    ),
}  # fmt: skip

PATTERNS = {
    language: re.compile(rf"\b(?:{'|'.join(words)})(?!\w)", re.IGNORECASE) for language, words in BANNED.items()
}
ON_PAGES = re.compile(r"\b(?:mass|masses|profiles?|machines?|seed)\b", re.IGNORECASE)
"""Keys of files, which only an error about a file, or the file itself, may show; pages have other words for them."""

PRINTED = (
    "vapour pressures of ice", "sublimation curves", "Prediction of calorimetric", "Prediction of freezing",
    "filtering and prediction",
)  # fmt: skip
"""Words in titles of publications, which are spelled as they were printed."""

AROUND = 40
"""Characters shown on each side of a word that was found."""


def banned_words(text: str, language: str = "en") -> Iterator[str]:
    """Yield each word of a text that the language has a better one for, with what stands around it."""
    for title in PRINTED:
        text = text.replace(title, "")
    for hit in PATTERNS[language].finditer(text):
        yield text[max(hit.start() - AROUND, 0) : hit.end() + AROUND]


def banned_on_a_page(text: str, language: str) -> Iterator[str]:
    """Yield the same for what a page or a sheet shows; sources are in English in every language."""
    text = " ".join(text.split())
    for source in bibliography().values():
        text = text.replace(source.text, "")
    yield from banned_words(text, language)
    if language == "en":
        yield from (text[max(hit.start() - AROUND, 0) : hit.end() + AROUND] for hit in ON_PAGES.finditer(text))
