"""Mistakes people make: in files (an example, what stands in it, what is written instead) and in forms."""

FILES: tuple[tuple[str, str, str, str], ...] = (
    ("load berry-tray", '"1.7 lb"', '"-1 lb"', "tray[1].mass"),
    ("load berry-tray", '"1.7 lb"', '"lots"', "tray[1].mass"),
    ("load berry-tray", 'mass = "1.7 lb"\n', "", "tray[1].mass"),
    ("load berry-tray", '"sphere"', '"blob"', "tray[1].shape"),
    ("load berry-tray", '"13 mm"', '"13 kg"', "tray[1].size"),
    ("load berry-tray", '"13 mm"', "13", "tray[1].size"),
    ("load berry-tray", '"Blueberries, raw"', '"Bluberries"', "tray[1].food"),
    ("load berry-tray", '"bench-4"', '"bench-5"', "dryer.profile"),
    ("load berry-tray", '"-10 degC for 2 h"', '"-10 degC for"', "program.shelf[1]"),
    ("load berry-tray", '"45 degC until dry"', '"450 degC until dry"', "program.shelf[2]"),
    ("load berry-tray", '"4 degC"', '"400 degC"', "tray[1].start_temperature"),
    ("load berry-tray", "[[tray]]", "[[trays]]", "trays"),
    ("load berry-tray", "size =", "sise =", "tray[1].sise"),
    ("batch dryness/three-signs", '"770 g"', '"heavy"', "weighing[1].gross"),
    ("batch dryness/three-signs", '"770 g"', '"0 g"', "weighing[1].gross"),
    ("batch dryness/three-signs", 'tare = "640 g"', 'tare = "900 g"', "weighing[1].tare"),
    ("batch dryness/three-signs", 'finding = "dry"', 'finding = "soggy"', "cut[1].finding"),
    ("batch dryness/three-signs", 'tray = 1\ntime = "21 h"', 'tray = 9\ntime = "21 h"', "weighing[2].tray"),
    ("batch dryness/three-signs", 'now = "21 h"', 'now = "2 h"', "weighing[1].time"),
    ("batch dryness/three-signs", '"30 s"', '"30 h"', "pressure_rise[1].duration"),
    ("batch dryness/three-signs", 'before = "17 Pa"\n', "", "pressure_rise[1].before"),
    ("pack packing/strawberries", '"240 g"', '"0 g"', "dry_mass"),
    ("pack packing/strawberries", '"2%"', '"60%"', "residual_moisture"),
    ("pack packing/strawberries", '"pieces"', '"soup"', "form"),
    ("pack packing/strawberries", '"jar-quart"', '"jar-quarter"', "container.kind"),
    ("pack packing/strawberries", "2026-06-20", '"yesterday"', "packed_on"),
    ("pack packing/strawberries", '"3 year"', '"300 year"', "keep_for"),
    ("pack packing/strawberries", '["Keep in the dark."]', '"Keep"', "label.notes"),
    ("basket planning/saturday-basket", '"30 h"', '"0 h"', "time"),
    ("basket planning/saturday-basket", '"7 mm"', '"20 mm"', "food[1].thickest"),
    ("basket planning/saturday-basket", "must = true", 'must = "yes"', "food[2].must"),
    ("basket planning/saturday-basket", '"2 lb"', '"2000 lb"', "food[4].mass"),
    ("plan planning/harvest-week", "begin = 2026-09-07", 'begin = "Monday"', "begin"),
    ("plan planning/harvest-week", "days = 7", "days = 700", "days"),
    ("plan planning/harvest-week", '"17-22"', '"22-17"', "home.weekdays"),
    ("plan planning/harvest-week", "price = 0.15", "price = -1", "tariff.price"),
    ("plan planning/harvest-week", '"45 L"', '"45 m"', "freezer.space"),
    ("plan planning/harvest-week", '"smells"', '"odors"', "rules.apart"),
    ("plan planning/harvest-week", "arrives = 2026-09-07T09:00:00\n", "", "arrival[1].arrives"),
    ("plan planning/harvest-week", 'name = "Kitchen"', 'name = "Bench"', "dryer[2].name"),
    ("plan planning/harvest-week", "must = true", 'must = true\ndryers = ["Attic"]', "arrival[5].dryers"),
    ("garden planning/garden", "weeks = 22", "weeks = 2200", "weeks"),
    ("garden planning/garden", "begin = 2026-05-18\n", "", "begin"),
    ("garden planning/garden", "peak = 2026-06-15", "peak = 2027-06-15", "crop[1].peak"),
)
"""Kind and example, the place, what is written there, and the field that the first error names."""

FORMS: tuple[tuple[str, str, str], ...] = (
    ("/settings/", "altitude_m", "high"),
    ("/settings/", "altitude_m", "99999 ft"),
    ("/settings/", "people", "0"),
    ("/settings/", "people", "two"),
    ("/settings/", "tariff_per_kwh", "cheap"),
    ("/settings/", "tariff_per_kwh", "-1"),
    ("/settings/", "time_zone", "Mars"),
    ("/batches/new/", "title", ""),
    ("/batches/new/", "lot", "x" * 200),
    ("/pantry/places/", "warm", "boiling"),
    ("/pantry/places/", "humidity", "500%"),
    ("/foods/own/label/", "protein", "some"),
    ("/foods/recipes/new/", "servings", "0"),
    ("/dryers/{dryer}/edit/", "pump_speed", "3 lb"),
    ("/dryers/{dryer}/service/", "on", "soon"),
    ("/plans/new/", "days", "99"),
    ("/plans/new/", "weekdays", "22-7"),
    ("/plans/new/", "freezer", "45 m"),
    ("/plans/seasons/new/", "weeks", "0"),
    ("/data/tokens/", "name", ""),
)
"""Address, field, and what is typed."""

COMMANDS: tuple[tuple[str, str], ...] = (
    ("simulate no-such.toml", "no-such.toml"),
    ("account role Ana", "role"),
    ("account role Ana chief", "role"),
    ("simulate examples/berry-tray.toml --members some", "--members"),
    ("simulate examples/berry-tray.toml --members -1", "--members"),
    ("simulate examples/berry-tray.toml --units metric", "--units"),
    ("label examples/packing/chicken.toml --packed-on soon", "--packed-on"),
    ("outage examples/berry-tray.toml --at never --for 3h", "--at"),
    ("food show bluberies", "bluberies"),
    ("rehydrate corn --fresh much", "--fresh"),
    ("plan examples/planning/saturday-basket.toml", "best-load"),
    ("nonsense", "nonsense"),
)
"""Command, and a word that its error names."""

ADVICE = {
    "en": r"\b(write|add|closest|did you mean|give|swap|correct|enter|fill|choose|check|use|search|find it)\b|"
    r"No such command|Missing argument|own name",
    "es": r"\b(escriba\w*|añada|escríba\w*|parecidos?|quiso decir|dé|intercámbielos|corrija|complete|elija)\b|"
    r"\b(compruebe|use)\b",
}
"""Words by which an error says what to write instead."""
