"""How dry is dry: default targets by food class."""

from drystow.foods.kinds import class_row


def target_moisture(food_class: str) -> float:
    """Residual moisture to aim for, wet basis [-].

    food_class: one of the food classes
    Source: target-practice, 1 to 3% for fruit and vegetables, 1 to 2% for meat and egg.
    """
    return float(class_row(food_class)["target"])
