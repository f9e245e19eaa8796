"""Foods with a composition typed from the USDA Standard Reference (memory), for comparison with measured properties."""

from dataclasses import dataclass

from drystow.foods.model import Composition


@dataclass(frozen=True)
class Sample:
    """A food of the comparison.

    food_class: one of the food classes
    composition: scaled so that the parts add up to one
    freezing_point: handbook value [°C], or None
    mark: how the freezing point is known
    """

    food_class: str
    composition: Composition
    freezing_point: float | None
    mark: str


def _row(
    food_class: str,
    parts: tuple[float, ...],
    freezing_point: float | None = None,
    mark: str = "read",
    salt: float = 0.0,
) -> Sample:
    water, protein, fat, carbohydrate, fibre, ash, sugars = (part / 100 for part in parts)
    total = water + protein + fat + carbohydrate + fibre + ash
    composition = Composition(
        *(part / total for part in (water, protein, fat, carbohydrate, fibre, ash)),
        sugars=sugars / total,
        salt=salt / 100,
    )
    return Sample(food_class, composition, freezing_point, mark)


SAMPLES = {
    # water, protein, fat, carbohydrate without fibre, fibre, ash, sugars in g/100 g; freezing point of ASHRAE table 3
    "strawberry": _row("fruit", (90.95, 0.67, 0.30, 5.68, 2.0, 0.40, 4.89), -0.8),
    "blueberry": _row("fruit", (84.21, 0.74, 0.33, 12.09, 2.4, 0.24, 9.96), -1.6),
    "raspberry": _row("fruit", (85.75, 1.20, 0.65, 5.44, 6.5, 0.46, 4.42), -0.6),
    "apple": _row("fruit", (85.56, 0.26, 0.17, 11.41, 2.4, 0.19, 10.39), -1.1),
    "peach": _row("fruit", (88.87, 0.91, 0.25, 8.04, 1.5, 0.43, 8.39 * 0.95), -0.9),
    "pear": _row("fruit", (83.96, 0.36, 0.14, 12.13, 3.1, 0.32, 9.75), -1.6),
    "banana": _row("fruit", (74.91, 1.09, 0.33, 20.24, 2.6, 0.82, 12.23), -0.8),
    "kiwi": _row("fruit", (83.07, 1.14, 0.52, 11.66, 3.0, 0.61, 8.99)),
    "carrot": _row("vegetable", (88.29, 0.93, 0.24, 6.78, 2.8, 0.97, 4.74), -1.4),
    "broccoli": _row("vegetable", (89.30, 2.82, 0.37, 4.04, 2.6, 0.87, 1.70), -0.6),
    "cauliflower": _row("vegetable", (92.07, 1.92, 0.28, 2.97, 2.0, 0.76, 1.91), -0.8),
    "cabbage": _row("vegetable", (92.18, 1.28, 0.10, 3.30, 2.5, 0.64, 3.20), -0.9),
    "eggplant": _row("vegetable", (92.30, 0.98, 0.18, 2.88, 3.0, 0.66, 2.35 + 0.5), -0.8),
    "cucumber": _row("vegetable", (95.23, 0.65, 0.11, 3.13, 0.5, 0.38, 1.67), -0.5),
    "celery": _row("vegetable", (95.43, 0.69, 0.17, 1.37, 1.6, 0.75, 1.34), -0.5),
    "tomato": _row("vegetable", (94.52, 0.88, 0.20, 2.69, 1.2, 0.50, 2.63), -0.5, "memory"),
    "spinach": _row("vegetable", (91.40, 2.86, 0.39, 1.43, 2.2, 1.72, 0.42)),
    "garlic": _row("vegetable", (58.58, 6.36, 0.50, 30.96, 2.1, 1.50, 1.00)),
    "corn": _row("starchy", (76.05, 3.27, 1.35, 16.70, 2.0, 0.62, 6.26), -0.6),
    "peas": _row("starchy", (78.86, 5.42, 0.40, 8.75, 5.7, 0.87, 5.67), -0.6),
    "potato": _row("starchy", (79.25, 2.05, 0.09, 15.39, 2.1, 1.11, 0.82), -0.6, "memory"),
    "mushroom": _row("mushroom", (92.45, 3.09, 0.34, 2.26, 1.0, 0.85, 1.98), -0.9),
    "beef": _row("meat", (71.70, 21.24, 4.40, 0.0, 0.0, 1.06, 0.0), -1.7),
    "pork": _row("meat", (72.63, 19.55, 7.14, 0.0, 0.0, 1.02, 0.0), -2.2, "memory"),
    "cod": _row("fish", (81.22, 17.81, 0.67, 0.0, 0.0, 1.16, 0.0), -2.2),
    "milk": _row("dairy", (88.13, 3.15, 3.25, 4.80, 0.0, 0.69, 5.05 * 0.95), -0.6, "memory"),
    "egg": _row("egg", (76.15, 12.56, 9.51, 0.72, 0.0, 1.06, 0.37), -0.6, "memory"),
}


def sample(name: str) -> Composition:
    """Return the composition of a food of the comparison."""
    return SAMPLES[name].composition
