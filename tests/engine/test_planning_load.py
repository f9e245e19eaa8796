"""One load from the counter: the wishes, the reasons and what other choices would cost."""

import math

import pytest

from drystow.errors import InputError, InputErrors
from drystow.fields import toml_text
from drystow.machine.loadfile import load_table, parse_load
from drystow.machine.run import simulate
from drystow.planning.load.best_load import plan_load
from drystow.planning.load.choices import FoodUse, Judge, Verdict, load_spec_of, rank, rule_broken
from drystow.planning.load.search import Moves, search
from tests.planning_counters import counter, food

STRAWBERRIES, ONIONS, CORN = "Strawberries, raw", "Onions, raw", "Corn, sweet, yellow, raw"
APPLES, CHICKEN = "Apples, raw, without skin", "Chicken breast, stewed, skin not eaten"
MEMBERS = 20


def test_everything_that_fits_goes_in_and_is_in_time() -> None:
    plan = plan_load(counter(food(STRAWBERRIES), food(APPLES)), members=MEMBERS)
    assert plan.refusal is None
    assert plan.mass == pytest.approx(2.0)
    assert plan.left == ()
    assert plan.end.p10 <= plan.end.p50 <= plan.end.p80 <= 30 * 3600.0
    assert plan.energy_per_mass > 0.0


def test_with_room_to_spare_the_thinner_cut_is_taken() -> None:
    plan = plan_load(counter(food(STRAWBERRIES, sizes=["8 mm", "13 mm"]), time="48 h"), members=MEMBERS)
    assert {tray.size for tray in plan.trays} == {0.008}
    assert any("13 mm" in cost.words and "costs" in cost.words for cost in plan.costs)


def test_food_that_smells_stays_out_and_it_is_said_why() -> None:
    plan = plan_load(counter(food(STRAWBERRIES, "3 kg"), food(ONIONS)), members=MEMBERS)
    assert [left.rule for left in plan.left if left.name == ONIONS] == ["smells"]
    assert "separate batches" in plan.left[-1].words


def test_two_foods_that_must_go_in_but_may_not_share_a_chamber_are_refused_with_the_rule() -> None:
    plan = plan_load(counter(food(STRAWBERRIES, must=True), food(ONIONS, must=True)), members=MEMBERS)
    assert plan.refusal is not None
    assert plan.refusal.rule == "smells"
    assert set(plan.refusal.foods) == {0, 1}
    assert "for another batch" in plan.refusal.instead
    assert len({tray.food for tray in plan.trays}) == 1


def test_rules_can_be_set_aside() -> None:
    one = counter(food(STRAWBERRIES, must=True), food(ONIONS, must=True), rules={"apart": ["germs"]})
    assert plan_load(one, members=MEMBERS).refusal is None


def test_too_short_a_time_is_refused_with_the_time_that_it_needs() -> None:
    plan = plan_load(counter(food(CHICKEN, "2 kg", "cube", must=True), time="9 h"), members=MEMBERS)
    assert plan.refusal is not None
    assert plan.refusal.rule == "time"
    rounded_up = math.ceil(plan.end.p80 / 360 - 1e-6) / 10
    assert f"{rounded_up:.1f} h" in plan.refusal.instead
    assert plan.mass == pytest.approx(2.0)
    granted = counter(food(CHICKEN, "2 kg", "cube", must=True), time=f"{plan.end.p80 / 3600 + 0.1:.2f} h")
    assert plan_load(granted, members=MEMBERS).refusal is None


def test_nothing_in_time_is_refused_with_the_soonest_food() -> None:
    plan = plan_load(counter(food(CHICKEN, "2 kg", "cube"), food(APPLES), time="3 h"), members=MEMBERS)
    assert plan.refusal is not None
    assert "takes at least" in plan.refusal.words
    assert plan.trays


def test_more_water_than_the_trap_takes_is_refused_and_the_rest_dried() -> None:
    one = counter(food(APPLES, "2.2 kg", must=True), dryer={"trap_capacity": "1 kg"})
    plan = plan_load(one, members=MEMBERS)
    assert plan.refusal is not None
    assert plan.refusal.rule == "trap"
    assert 0.5 < plan.water <= 1.0


def test_more_food_than_the_trays_hold_is_refused() -> None:
    plan = plan_load(counter(food(APPLES, "20 kg", must=True), time="48 h"), members=MEMBERS)
    assert plan.refusal is not None
    assert plan.refusal.rule == "trays"
    assert "all trays together hold" in plan.refusal.words


def test_food_that_never_dries_is_an_error_that_says_why() -> None:
    with pytest.raises(InputError, match="program ended before the food was dry"):
        plan_load(counter(food(APPLES), program={"shelf": ["-10 degC for 2 h"]}), members=MEMBERS)


def test_a_valuable_food_comes_before_more_of_a_cheap_one() -> None:
    dear = food(STRAWBERRIES, "6 kg", size="10 mm", value=3)
    cheap = food(CORN, "6 kg", "sphere", size="9 mm")
    one = counter(cheap, dear, time="36 h", dryer={"trays": 2})
    state = search(Moves(Judge(one), one.time, 4))
    assert state[1].places == 2


def test_the_same_seed_gives_the_same_plan() -> None:
    one = counter(food(STRAWBERRIES, "5 kg", sizes=["8 mm", "12 mm"]), food(CORN, "3 kg", "sphere"), time="22 h")
    first, again = plan_load(one, seed=7, members=MEMBERS), plan_load(one, seed=7, members=MEMBERS)
    assert first.spec == again.spec
    assert first.end == again.end


def test_raw_meat_lies_below_and_raw_with_ready_food_is_parted() -> None:
    raw, ready = food("Chicken, ground, raw", "0.5 kg"), food(APPLES, "0.5 kg")
    one = counter(raw, ready)
    both = (FoodUse(0, 1, 0.5), FoodUse(0, 1, 0.5))
    broken = rule_broken(one, both)
    assert broken is not None
    assert broken.rule == "germs"
    free = counter(raw, ready, rules={"apart": []})
    assert rule_broken(free, both) is None
    assert [tray.food.name for tray in load_spec_of(free, both).trays] == [APPLES, "Chicken, ground, raw"]


def test_food_that_stains_shares_no_tray_with_another() -> None:
    one = counter(food("Beets, raw"), food(APPLES), rules={"share_trays": 2})
    halves = (FoodUse(0, 1, 0.3), FoodUse(0, 1, 0.3))
    broken = rule_broken(one, halves)
    assert broken is not None
    assert broken.rule == "colours"


def test_half_trays_hold_two_foods() -> None:
    one = counter(food(APPLES, "0.4 kg", must=True), food(STRAWBERRIES, "0.4 kg", must=True),
                  dryer={"trays": 1}, rules={"share_trays": 2})  # fmt: skip
    plan = plan_load(one, members=MEMBERS)
    assert plan.refusal is None
    assert [tray.tray for tray in plan.trays] == [1, 1]
    assert parse_load(load_table(plan.spec)).items


def test_costs_are_what_the_simulation_says() -> None:
    plan = plan_load(counter(food(STRAWBERRIES, "0.7 kg", sizes=["8 mm", "12 mm"]), time="48 h"), members=MEMBERS)
    cost = next(cost for cost in plan.costs if cost.kind == "thickness")
    tray = load_table(plan.spec)["tray"][0]
    area = 0.7 / plan.load.items[0].density / 0.012
    thick = parse_load({**load_table(plan.spec), "tray": [{**tray, "size": "12 mm", "area": f"{area:.6g} m^2"}]})
    later = simulate(thick).total_time - simulate(parse_load(load_table(plan.spec))).total_time
    assert cost.time == pytest.approx(later, abs=120.0)


def test_the_written_load_survives_toml() -> None:
    import tomllib

    plan = plan_load(counter(food(APPLES)), members=MEMBERS)
    assert tomllib.loads(toml_text(load_table(plan.spec))) == load_table(plan.spec)
    odd = {
        "title": 'a "b" \\ \t ü',
        "program": {"shelf": ["1", "2"], "overload": False},
        "tray": [{"x": 1.5, "own key": {"R0": "1"}}],
    }
    assert tomllib.loads(toml_text(odd)) == odd


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"time": "10 min"}, "time", "from 1 h"),
        ({"rules": {"apart": ["noise"]}}, "rules.apart", "is not a rule"),
        ({"food": []}, "food", "1 to 20 foods"),
        ({"food": [food(APPLES, size="40 mm")]}, "food[1].size", "above the tray's rim"),
        ({"food": [food(APPLES, value=-1)]}, "food[1].value", "from 0 to 1,000,000"),
        ({"food": [food("no such thing at all")]}, "food[1].food", "no food"),
        ({"food": [food(APPLES, thinnest="9 mm", thickest="5 mm")]}, "food[1].thickest", "thinner"),
        ({"dryer": {"profile": "bench-4", "trays": 0}}, "dryer.trays", "not allowed"),
    ],
)
def test_what_is_wrong_is_named(change: dict[str, object], field: str, words: str) -> None:
    from drystow.planning.load.basket import parse_basket
    from tests.planning_counters import PROGRAM

    raw = {"time": "30 h", "dryer": {"profile": "bench-4"}, "program": PROGRAM, "food": [food(APPLES)], **change}
    with pytest.raises(InputErrors) as caught:
        parse_basket(raw)
    assert any(one.field == field and words in one.message for one in caught.value.problems), str(caught.value)


def test_of_equal_loads_the_one_whose_ice_stays_below_its_limit_is_better() -> None:
    one = counter(food(APPLES, "0.5 kg", sizes=["6 mm", "16 mm"]))
    state = (FoodUse(0, 1, 0.5),)
    assert rank(one, state, Verdict(None, 9e4, 2e6)) > rank(one, state, Verdict(None, 8e4, 1e6, warm=0.5))
    assert rank(one, state, Verdict(None, 8e4, 2e6, warm=0.5)) > rank(one, state, Verdict(None, 9e4, 1e6, warm=0.5))
    # food comes before the limit: half of it left on the counter is worse
    assert rank(one, state, Verdict(None, 9e4, 2e6, warm=0.5)) > rank(one, (FoodUse(0, 1, 0.25),), Verdict(None))


def test_ice_that_gets_too_warm_is_told_and_what_would_help() -> None:
    warm = plan_load(counter(food("Applesauce, unsweetened", size="12 mm"), time="40 h"), members=MEMBERS)
    assert warm.trays[0].over > 0.0
    result = simulate(warm.load)
    assert warm.trays[0].over == pytest.approx(result.trays[0].front_temperature_max - result.trays[0].limit, abs=0.05)
    assert any("gets warmer than its limit" in note and "find a better program" in note for note in warm.notes)
    cool = counter(food(APPLES, size="6 mm"), time="60 h", program={"shelf": ["-10 degC for 2 h", "0 degC until dry"]})
    plan = plan_load(cool, members=MEMBERS)
    assert plan.trays[0].over < 0.0
    assert not any("gets warmer than its limit" in note for note in plan.notes)


def test_food_that_would_melt_stays_on_the_counter() -> None:
    # vapor hardly passes its dried layer, so its ice front gets as warm as its freezing point on a shelf of 40 °C
    syrup = {"composition": {"water": 0.44, "carbohydrate": 0.55, "sugars": 0.55, "ash": 0.01}, "name": "Fruit syrup",
             "like": "sweet", "raw_animal": False, "mass": "1 kg", "shape": "slab", "size": "12 mm",
             "dried_layer": {"A1": "1e11 1/s"}}  # fmt: skip
    plan = plan_load(counter(food(APPLES), syrup, time="60 h"), members=MEMBERS)
    assert {tray.name for tray in plan.trays} == {APPLES}
    assert [left.rule for left in plan.left] == ["melts"]
    wished = plan_load(counter(food(APPLES), syrup | {"must": True}, time="60 h"), members=MEMBERS)
    assert wished.refusal is not None
    assert wished.refusal.rule == "melts"
    assert "Fruit syrup" in wished.refusal.words
    with pytest.raises(InputError, match="ice melts instead of drying"):
        plan_load(counter(syrup, time="60 h"), members=MEMBERS)


def test_food_that_all_trays_together_do_not_hold_is_told_as_such() -> None:
    one = counter(food(APPLES, "4 kg", must=True), food(STRAWBERRIES, "4 kg", must=True), time="60 h",
                  dryer={"trays": 3})  # fmt: skip
    plan = plan_load(one, members=MEMBERS)
    assert plan.refusal is not None
    assert [left.rule for left in plan.left] == ["trays", "trays"]
    assert "all trays together hold" in plan.left[0].words


def test_what_would_be_dry_in_time_is_told_beside_the_nearest_plan() -> None:
    thick, thin = food(CHICKEN, "1 kg", "cube", size="18 mm", must=True), food(APPLES, "0.5 kg", size="5 mm", must=True)
    plan = plan_load(counter(thick, thin, time="15 h"), members=MEMBERS)
    assert plan.refusal is not None
    assert plan.refusal.rule == "time"
    assert f"within 15.0 h, everything but 1.00 kg of {CHICKEN} would be dry" in plan.refusal.instead
    rest = plan_load(counter(thin, time="15 h"), members=MEMBERS)
    assert rest.refusal is None
