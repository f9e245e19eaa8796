"""What a page, a PDF or a terminal says: its words without folded sources, and lines that break a rule of numbers."""

import re
from html.parser import HTMLParser

from drystow.packing.containers import containers

VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}
INLINE = {"a", "b", "em", "i", "span", "strong", "del", "small", "tspan"}
SPOKEN = ("alt", "aria-label", "data-label", "placeholder", "title")
SOURCES, BY_LAW = "sources", "by-law"
"""Classes of what quotes its source, and of nutrition figures, which laws want in grams everywhere."""

NUMBER = r"(?<![\w.,−-])[-−+]?\d[\d.,]*(?:\s?(?:–|to|a|y|×)\s?[-−+]?\d[\d.,]*)*"
UNITS = {
    "si": r"°C|degC|kg|g|mm|cm|m|m²|mL|ml|L|Pa|kPa|mbar|K|W/m²K|W/\(m²·K\)|mbar·L/s|m³/h|kg/h",
    "us": r"°F|degF|lb|oz|in|in²|ft|ft²|ft³|cups?|tazas?|tbsp|cda\.|qt|mTorr|mTorr·L/s|lb/h|ft³/min|Btu/\(h·ft²·°F\)",
}
AXIS = {units: re.compile(rf"\((?:{names})\)$") for units, names in UNITS.items()}
"""A label that ends with its unit, as those of axes and columns do."""

OTHER = {"us": "si", "si": "us"}
HYPHEN = re.compile(r"(?<![\w.,:/#-])-\d")
"""A hyphen where a minus sign belongs."""

COUNTED = (
    "batches|bottles|boxes|changes|characters|containers|crops|days|dryers|entries|errors|files|foods|hours|items|jars|"
    "labels|lines|loads|lots|minutes|months|movements|packages|pages|photos|pieces|places|points|positions|pounds|"
    "pressures|readings|records|recipes|rows|runs|samples|seasons|seconds|sensors|servings|sources|steps|tests|times|"
    "trays|values|weeks|weighings|years|"
    "alimentos|anotaciones|años|bandejas|cambios|capturas|cargas|cultivos|días|ensayos|entradas|envases|etiquetas|filas|fotos|"
    "horas|lecturas|líneas|liofilizadores|lotes|tandas|lugares|mediciones|meses|minutos|muestras|paquetes|pasos|pesadas|"
    "frascos|piezas|porciones|raciones|recetas|registros|secados|segundos|semanas|sensores|temporadas|trozos|valores|veces"
)
ONE_OF_MANY = re.compile(rf"(?<![\w.,/–−+-])(?<!\ba )(?<!\bto )(?<!\d )1 (?:{COUNTED})\b")
"""One of something, in the plural."""

ODDS = re.compile(r"\b\d+ (?:in|out of) \d+")
"""Nine in ten: no length."""


class Words(HTMLParser):
    """Collects the words of a page, a block at a time."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[tuple[str, bool]] = []
        self.parts: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if not self.hidden and given.get("type") != "hidden":
            self.parts += [f"\n{given[name]}\n" for name in SPOKEN if given.get(name)]
            if tag == "input" and given.get("type", "text") == "text":
                self.parts.append(f"\n{given.get('value') or ''}\n")
        if tag in VOID:
            self.parts.append("\n")
            return
        classes = (given.get("class") or "").split()
        self.open.append((tag, tag in ("script", "style", "template") or SOURCES in classes or BY_LAW in classes))
        self.parts.append("" if tag in INLINE else "\n")

    def handle_endtag(self, tag: str) -> None:
        while self.open and self.open.pop()[0] != tag:
            pass
        self.parts.append("" if tag in INLINE else "\n")

    def handle_data(self, data: str) -> None:
        if not self.hidden:
            self.parts.append(data)

    @property
    def hidden(self) -> bool:
        return any(hidden for _tag, hidden in self.open)


def words_of(page: str) -> list[str]:
    """Return what a page says, a block a line."""
    reader = Words()
    reader.feed(page)
    lines = (" ".join(line.split()) for line in "".join(reader.parts).split("\n"))
    return [line for line in lines if line]


def in_other_units(lines: list[str], units: str) -> list[str]:
    """Return the lines that show a quantity in the other system, first or alone.

    A line on safety may give it in brackets behind the reader's own: ``40 °F (4 °C)``.
    """
    own, other = (rf"{NUMBER}\s?(?:{UNITS[name]})(?![\w²³/·*])" for name in (units, OTHER[units]))
    behind, alien = re.compile(rf"({own}) \({other}\)"), re.compile(other)
    axis = AXIS[OTHER[units]]
    return [line for line in lines if axis.search(line) or alien.search(behind.sub(r"\1", ODDS.sub("", line)))]


_MONTH = "(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)"
_SPANISH_MONTH = "(?:ene|feb|mar|abr|may|jun|jul|ago|sep|oct|nov|dic)"
_AMERICAN = rf"\b{_MONTH}[a-z]* \d{{1,2}}\b(?! {_MONTH})|\d ?(?:[ap]m|[ap]\.m\.)(?!\w)|\bnoon\b|\bmidnight\b"
_METRIC = rf"\b\d{{1,2}} {_MONTH}\b(?! \d{{1,2}}\b)|\b\d\d:\d\d(?::\d\d)?(?! ?[ap]m)\b|\d ?[ap]\.m\."
OTHER_WAYS = {
    # units and language: dates, times of day and percent signs as another reader has them
    "us en": re.compile(rf"{_METRIC}|\d %"),
    "si en": re.compile(rf"{_AMERICAN}|\d %"),
    "us es": re.compile(rf"{_AMERICAN}|\b{_SPANISH_MONTH} \d{{1,2}}(?:,|$)|\d%"),
    "si es": re.compile(rf"{_AMERICAN}|\b{_SPANISH_MONTH} \d{{1,2}}(?:,|$)|\d%"),
}


AS_IT_IS = re.compile(r"Carrot juice, 100%|ommon practice: residual moisture of .*? wet basis")
"""Names and sources, which are quoted in English."""


def in_other_ways(lines: list[str], units: str, language: str) -> list[str]:
    """Return the lines with a date, a time of day or a percent sign written as for another reader."""
    return [line for line in lines if OTHER_WAYS[f"{units} {language}"].search(AS_IT_IS.sub("", line))]


def miswritten(lines: list[str]) -> list[str]:
    """Return the lines with a hyphen for a minus sign, or with one of something in the plural."""
    return [line for line in lines if HYPHEN.search(line) or ONE_OF_MANY.search(line)]


def without_product_names(lines: list[str]) -> list[str]:
    """Return lines without names that stand on a product, such as a pouch of 6 × 8 inch."""
    for name in sorted((box.name for box in containers().values()), key=len, reverse=True):
        lines = [line.replace(name, "") for line in lines]
    return lines
