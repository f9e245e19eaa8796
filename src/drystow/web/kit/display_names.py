"""What people call the records and their columns, where that is not the name in the database."""

from drystow.foods.model import part_word
from drystow.messages import Translate, msg

KIND_NAMES = {
    "batches.item": msg("Food"),
    "batches.happening": msg("Event"),
    "batches.unproved": msg("Food not known to be dry"),
    "batches.pressurerise": msg("Pressure check"),
    "dryers.machinetest": msg("Dryer test"),
    "foods.ownfood": msg("Your own food"),
    "plans.plandryer": msg("Dryer in the plan"),
    "plans.lot": msg("Arrival"),
    "plans.booked": msg("Made into batches"),
    "readings.channel": msg("Sensor"),
    "site.kitchen": msg("Kitchen"),
}
"""Kind of record -> its name."""

FIELD_NAMES = {
    "Activity": msg("Water activity"),
    "After g": msg("Sample after the oven"),
    "After pa": msg("Pressure after"),
    "Altitude m": msg("Altitude"),
    "Apart": msg("Dried apart"),
    "Aside kg": msg("Eaten or lost"),
    "At": msg("Time"),
    "Basis": msg("Basis of the date"),
    "Before g": msg("Sample when taken"),
    "Before pa": msg("Pressure before"),
    "Begin": msg("Start"),
    "Chance": msg("Chance that it was dry"),
    "Client": msg("Client name"),
    "Done at": msg("Finished"),
    "Dried kg": msg("Dried weight"),
    "Drying began at": msg("Drying began"),
    "Drying h": msg("Drying time"),
    "Ended at": msg("Ended"),
    "Energy kcal day": msg("Energy per person and day"),
    "Energy kcal": msg("Energy"),
    "Energy kwh": msg("Electricity"),
    "Entered": msg("As entered"),
    "Extra": msg("Extra settings"),
    "Final mass kg": msg("Cooked weight"),
    "Finding": msg("What was seen"),
    "First": msg("First picking"),
    "Freezer days": msg("Freezer limit"),
    "Freezer m3": msg("Freezer space"),
    "Fresh kg": msg("Fresh weight"),
    "Fridge days": msg("Refrigerator limit"),
    "Gross g": msg("Weight with the tray"),
    "Guide done": msg("First steps finished"),
    "Home": msg("Hours at home"),
    "Item": msg("Food"),
    "Label": msg("Name"),
    "Last": msg("Last picking"),
    "Left mass kg": msg("Left"),
    "Like": msg("Behaves like"),
    "Length m": msg("Length of a piece"),
    "Lies on": msg("What it lies on"),
    "Lots": msg("Arrivals"),
    "Mass kg": msg("Weight"),
    "Method": msg("Directions"),
    "Moisture from": msg("Moisture measured how"),
    "Moisture sd": msg("Moisture, give or take"),
    "Must": msg("Must be dried"),
    "Net mass kg": msg("Net weight"),
    "Numbers": msg("Dryer numbers"),
    "Oil hours limit": msg("Oil change limit"),
    "Opened at": msg("Chamber opened"),
    "Opening": msg("Open share of the wrapper"),
    "Outside min": msg("Minutes outside the chamber"),
    "Own sheet": msg("Your own sheet"),
    "Packing": msg("How the pieces lie"),
    "Packaging cost": msg("Cost of packages"),
    "Per week": msg("Pickings per week"),
    "Prediction": msg("Forecast"),
    "Prepared": msg("Preparation"),
    "Profile": msg("Starting numbers"),
    "Protein g day": msg("Protein per person and day"),
    "Protein g": msg("Protein"),
    "Quantity": msg("Quantity measured"),
    "Ready by": msg("Needed by"),
    "Residual moisture": msg("Moisture"),
    "Resolution g": msg("Scale reads to"),
    "Room c": msg("Room temperature"),
    "Rounds": msg("Seasons tested"),
    "Seconds": msg("Seconds with the valve closed"),
    "Seed": msg("Random number"),
    "Servings each": msg("Servings in each"),
    "Shop price": msg("Store price"),
    "Size m": msg("Thickness"),
    "Skin": msg("Waxy skin"),
    "Start c": msg("Starting temperature"),
    "Started at": msg("Started"),
    "Step written": msg("Scale step entered"),
    "Stops": msg("Service stops"),
    "Tare g": msg("Empty-tray weight"),
    "Tariff per kwh": msg("Electricity price per kWh"),
    "Tariff": msg("Electricity price"),
    "Temperature c": msg("Temperature"),
    "Text": msg("Note"),
    "Tls": msg("Encrypted (TLS)"),
    "Tray kg": msg("Weight per tray"),
    "Turnaround h": msg("Time between batches"),
    "Uncertain": msg("Give or take"),
    "Use taught": msg("Uses what batches taught"),
    "Value per kg": msg("Worth"),
    "Water to add kg": msg("Water to add"),
    "Who": msg("Initials"),
    "Width m": msg("Width of a piece"),
    "Winter c": msg("Coldest temperature"),
    "Wrapper": msg("What it is in"),
    "Wrapper kg": msg("Weight of all its wrappers"),
    "Years": msg("Years it lasts"),
}
"""Column, as words -> what people call it."""

KEY_NAMES = {
    "daily": msg("every day"),
    "weekdays": msg("Monday to Friday"),
    "weekend": msg("Saturday and Sunday"),
    "monday": msg("Monday"),
    "tuesday": msg("Tuesday"),
    "wednesday": msg("Wednesday"),
    "thursday": msg("Thursday"),
    "friday": msg("Friday"),
    "saturday": msg("Saturday"),
    "sunday": msg("Sunday"),
    "smells": msg("strong smells, away from fruit, milk, sweets and eggs"),
    "allergens": msg("foods with different allergens"),
    "colours": msg("foods that stain, on the lower trays"),
    "profile": msg("Starting numbers"),
    "trays": msg("Number of trays"),
    "tray_area": msg("Area of one tray"),
    "rim_height": msg("Height of the tray rim"),
    "heater_power": msg("Heaters, all shelves together"),
    "shelf_highest": msg("Warmest shelf setting"),
    "pressure_limit": msg("Pressure limit (heaters pause above it)"),
    "trap_capacity": msg("Ice the cold trap holds"),
    "trap_floor": msg("Coldest trap temperature"),
    "chamber_volume": msg("Chamber volume"),
    "compressor_power": msg("Power draw of the compressor"),
    "pump_power": msg("Power draw of the vacuum pump"),
    "pump_speed": msg("Vacuum pump speed"),
    "ultimate_pressure": msg("Lowest pressure, empty and dry"),
    "contact_constant": msg("Heat transfer to the tray without gas"),
    "contact_gas": msg("Its rise with pressure"),
    "contact_saturation": msg("Where that rise ends"),
    "above": msg("Heat transfer from the shelf above"),
    "shelf_heat_capacity": msg("Heat that shelves and trays store"),
    "control_time": msg("Time the shelf heaters take to react"),
    "trap_area": msg("Area of the cold trap"),
    "trap_ice_conductivity": msg("How well the trap’s ice carries heat"),
    "vapour_conductance": msg("Vapor flow to the trap"),
    "choked_area": msg("Narrowest opening on the way to the trap"),
    "refrigeration": msg("Cooling power of the compressor"),
    "refrigeration_reference": msg("Trap temperature at that cooling power"),
    "refrigeration_slope": msg("Change of the cooling power with temperature"),
    "compressor_slope": msg("Change of the compressor’s draw with temperature"),
    "room_conductance": msg("Heat from the room to the trap"),
    "wall_conductance": msg("Heat from the shelves to the trap"),
    "freezer_temperature": msg("Freezer temperature"),
    "freezer_air": msg("Heat transfer of the freezer air"),
    "freezer_base": msg("Heat transfer below the tray in the freezer"),
    "freezer_power": msg("Cooling power of the freezer"),
    "leak": msg("Air leak"),
    "room": msg("Room temperature"),
    "vapour": msg("Water vapor at the start"),
    "level": msg("Pressure rise from vapor"),
    "speed": msg("Pump speed"),
    "end": msg("Lowest pressure"),
    "compressor": msg("Compressor"),
    "pump": msg("Vacuum pump"),
    "mean": msg("Heat transfer, average of the trays"),
    "expected": msg("Heat transfer used so far"),
    "idle": msg("Idle"),
    "cooling": msg("With compressor, trap cold"),
    "running": msg("With the pump too, settled"),
    "trap": msg("Trap temperature then"),
    "ice": msg("Temperature of ice left on the trap"),
    "duration": msg("Time under vacuum, shelf warm"),
    "shelf": msg("Shelf temperature"),
    "pressure": msg("Chamber pressure, average"),
    "start": msg("Pressure at the start"),
    "gauge": msg("Gauge reads to"),
    "scale": msg("Scale reads to"),
    "tray": msg("Tray"),
    "page_width": msg("Paper width"),
    "page_height": msg("Paper height"),
    "columns": msg("Labels across"),
    "rows": msg("Labels down"),
    "left": msg("From the paper’s left edge to the first label"),
    "top": msg("From the paper’s top edge to the first label"),
    "column_gap": msg("Gap between labels across"),
    "row_gap": msg("Gap between labels down"),
    "corner": msg("Corner radius"),
    "freeze_to": msg("Frozen to"),
    "overload": msg("More water than the trap holds"),
    "ice_mass": msg("Ice"),
    "dried_layer": msg("Dried layer"),
    "heat": msg("Heat"),
    "area": msg("Area"),
    "areas": msg("Areas of the pieces"),
    "like": msg("Kind of food"),
    "faces": msg("sides that dry"),
    "width": msg("width of a piece"),
    "length": msg("length of a piece"),
    "on": msg("what it lies on"),
    "opening": msg("open share of the wrapper"),
}
"""Key inside a value, or a code that stands there -> what people call it."""


UNITS = {
    # end of a column's name: word in its place
    "kg": "", "g": "", "m": "", "m3": "space", "c": "temperature", "pa": "pressure", "kwh": "", "h": "time",
    "min": "time", "days": "time",
}  # fmt: skip
BARE = ("protein_g",)
"""Nutrition figures: laws want them in grams everywhere."""

CALLED = {"tray_kg": "on one tray"}
"""Columns that are called otherwise than their name says."""


def column_words(name: str) -> str:
    """Return what a column is called, its unit apart.

    >>> column_words("mass_kg"), column_words("room_c"), column_words("temperature_c"), column_words("value_per_kg")
    ('Mass', 'Room temperature', 'Temperature', 'Value per kg')
    """
    words = CALLED.get(name, name)
    if words == name and (unit := unit_of(name)):
        what, more = name.removesuffix(f"_{unit}"), UNITS[unit]
        words = what if not more or what.endswith(more) else f"{what} {more}"
    return words[:1].upper() + words[1:].replace("_", " ")


def unit_of(name: str) -> str:
    """Return the unit at the end of a column's name, nothing where it has none or is a price of one."""
    what, _bar, unit = name.rpartition("_")
    return unit if what and unit in UNITS and not what.endswith("_per") and name not in BARE else ""


def key_words(key: str, translate: Translate) -> str:
    """Return what people call a key inside a value.

    translate: to the reader's language

    >>> key_words("mass_kg", str), key_words("fibre", str), key_words("freeze_to", str), key_words("last_day", str)
    ('weight', 'fiber', 'Frozen to', 'last day')
    """
    spaced = key.replace("_", " ")
    named = KEY_NAMES.get(key) or FIELD_NAMES.get(spaced[:1].upper() + spaced[1:])
    if key in KEY_NAMES or part_word(key) != key:
        return translate(named or part_word(key))
    words = translate(named or column_words(key))
    return words if words[1:2].isupper() else words[:1].lower() + words[1:]


EARLIER = (
    msg("added to the plan: {dryer}", dryer=""),
    msg("dryer of the plan: {dryer}", dryer=""),
    msg("program"),
    msg("removed from the plan: {dryer}", dryer=""),
    msg("run started"),
    msg("dryer"),
    msg("own food"),
    msg("recipe"),
    msg("service log"),
    msg("numbers from the test on {day}", day=""),
    msg("added by hand"),
    msg("batch moved to trash"),
    msg("best load"),
    msg("best program"),
    msg("chamber opened"),
    msg("choice of dryers: {name}", name=""),
    msg("copy of a plan"),
    msg("counted: {left}", left=""),
    msg("crop: {food}", food=""),
    msg("date calculated again"),
    msg("done"),
    msg("drying continued"),
    msg("entered by mistake"),
    msg("example garden"),
    msg("food coming in: {food}", food=""),
    msg("forecasts use the dryer’s own numbers"),
    msg("forecasts use what batches taught"),
    msg("kitchen settings"),
    msg("labels are on"),
    msg("live readings"),
    msg("moved to {place}", place=""),
    msg("new plan"),
    msg("new season"),
    msg("notes"),
    msg("opened"),
    msg("packing undone"),
    msg("piece cut open"),
    msg("plan"),
    msg("plan moved to trash"),
    msg("pressures counted again"),
    msg("pressures crossed out"),
    msg("removed from basket: {food}", food=""),
    msg("removed from the plan: {food}", food=""),
    msg("removed from the season: {food}", food=""),
    msg("run ended"),
    msg("sample counted again"),
    msg("sample crossed out"),
    msg("season"),
    msg("season moved to trash"),
    msg("sensor name"),
    msg("servings"),
    msg("the rest won’t be packed"),
    msg("vacuum on"),
    msg("weighing counted again"),
    msg("weighing crossed out"),
    msg("{what} {mass}", what="", mass=""),
)
"""Sentences in the history of earlier versions, which keep their translations."""
