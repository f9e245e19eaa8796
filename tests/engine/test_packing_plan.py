"""The packing plan: absorbers where they help, warnings where they are due."""

from dataclasses import replace

import pytest

from drystow.errors import InputError
from drystow.packing.containers import choose, containers, dried_bulk_density, fill, materials, pillow_volume
from drystow.packing.moisture import open_time_limit, permeance
from drystow.packing.oxygen import absorbers_for, check_air_left, oxygen_ingress, oxygen_volume_ml
from drystow.packing.packfile import PackSpec, parse_pack
from drystow.packing.plan import pack_batch
from drystow.packing.seasons import DAY, YEAR, StoreSeason, course, describe, mean_temperature
from drystow.sources import bibliography


def pack(container: str = "can-10", **changes: object) -> PackSpec:
    text = (
        'dry_mass = "200 g"\nresidual_moisture = "2%"\n[food]\nname = "Strawberries, raw"\n'
        f'[container]\nkind = "{container}"'
    )
    return replace(parse_pack(text), **changes)  # type: ignore[arg-type]


def test_the_grain_rule_falls_short_for_porous_food() -> None:
    plan = pack_batch(pack(bulk_density=80.0))
    assert sum("meant for dense grain" in warning for warning in plan.warnings) == 1
    assert plan.absorbers.capacity_ml > 600


def test_moist_food_gets_a_botulism_warning_and_no_absorber() -> None:
    plan = pack_batch(pack(residual_moisture=0.2))
    assert plan.absorbers.sachets == ()
    assert any("botulism" in warning for warning in plan.warnings)


def test_no_absorber_goes_into_a_bag_that_breathes() -> None:
    plan = pack_batch(pack("bag-zip-gallon"))
    assert plan.absorbers.sachets == ()
    assert any("used up" in warning for warning in plan.warnings)


def test_a_vacuum_leaves_less_oxygen() -> None:
    full, half = pack_batch(pack()), pack_batch(pack(air_left=0.5))
    assert half.oxygen_ml == pytest.approx(full.oxygen_ml / 2)


def test_absorber_cautions_come_with_every_absorber() -> None:
    text = " ".join(pack_batch(pack()).cautions)
    words = ("children", "botulism", "15 to 30 minutes", "desiccant", "warm", "metal detector", "made for dry food")
    assert not [word for word in words if word not in text]


def test_raw_meat_is_to_be_marked() -> None:
    plan = pack_batch(parse_pack('dry_mass = "1 lb"\n[food]\nname = "Chicken, ground, raw"'))
    assert any("COOK BEFORE EATING" in caution for caution in plan.cautions)


def test_too_few_containers_are_refused_with_the_number_needed() -> None:
    with pytest.raises(InputError, match="use 9 or more"):
        pack_batch(pack("jar-pint", dry_mass=0.4, bulk_density=100.0, count=2))


def test_without_a_container_a_tight_one_is_chosen() -> None:
    plan = pack_batch(replace(pack(), container=None))
    assert plan.container.oxygen_barrier
    assert plan.filling.fill >= 0.5


def test_choices_put_barriers_first_and_hold_the_batch() -> None:
    fillings = choose(0.35, 60.0, powder=False)
    barriers = [filling.container.oxygen_barrier for filling in fillings]
    assert barriers == sorted(barriers, reverse=True)
    assert {filling.container.kind for filling in choose(0.35, 60.0, False, ("jar",))} == {"jar"}
    with pytest.raises(InputError, match="kind of container"):
        choose(0.35, 60.0, False, ("barrel",))


def test_practical_notes_follow_the_container() -> None:
    assert "implode" in " ".join(fill(containers()["jar-quart"], 0.1, 80.0, False).notes)
    assert "puncture" in " ".join(fill(containers()["pouch-foil7-8x12"], 0.1, 80.0, False).notes)
    assert "seal" in " ".join(fill(containers()["pouch-foil7-8x12"], 0.1, 300.0, True).notes)
    assert "seam" in " ".join(fill(containers()["can-10"], 0.1, 80.0, False).notes)


def test_every_container_and_material_has_a_known_source() -> None:
    for item in (*containers().values(), *materials().values()):
        assert item.source in bibliography()
        assert item.mark


def test_an_absorber_in_a_polyethylene_bag_is_gone_within_days() -> None:
    # a common rule of food storage: absorbers in polyethylene bags are pointless (common practice)
    wall = materials()["ldpe-bag"]
    rate = oxygen_ingress(wall.oxygen, 0.12, 0.0, 101325.0)
    assert 1 < 300e-6 / rate / DAY < 10


def test_wrong_values_say_what_is_allowed() -> None:
    with pytest.raises(InputError, match="does not fit in the container"):
        oxygen_volume_ml(1e-3, 5.0, 1500.0, 0.0, 294.0)
    with pytest.raises(InputError, match="is it in °C"):
        oxygen_volume_ml(1e-3, 0.1, 1500.0, 0.0, 21.0)
    with pytest.raises(InputError, match="smaller containers"):
        absorbers_for(1e6, 1.2)
    with pytest.raises(InputError, match="share of the air"):
        check_air_left(0.0)
    with pytest.raises(InputError, match="1 g/"):
        permeance(40.0, 296.0)
    with pytest.raises(InputError, match="longer side"):
        pillow_volume(0.3, 0.2)
    with pytest.raises(InputError, match="less water than fresh"):
        dried_bulk_density(600.0, 0.1, 0.5)


def test_dry_rooms_give_unlimited_time_with_the_food_open() -> None:
    assert open_time_limit(0.1, 0.2, 0.01, 0.3, 294.0, 0.25) == float("inf")
    assert 30 < pack_batch(pack()).open_limit < 3600


def test_seasons_repeat_from_the_day_of_packing() -> None:
    seasons = (StoreSeason(100 * DAY, 300.0, 0.6), StoreSeason(200 * DAY, 280.0, 0.4))
    starts = [(round(start / DAY), season.temperature) for start, season in course(seasons, 700 * DAY)]
    assert starts == [(0, 300.0), (100, 280.0), (300, 300.0), (400, 280.0), (600, 300.0)]
    assert mean_temperature(seasons) == pytest.approx((100 * 300 + 200 * 280) / 300)
    assert describe(seasons) == "7 to 27 °C over the year"
    with pytest.raises(InputError, match="no season"):
        list(course((), YEAR))


def test_food_drier_than_anybody_measured_says_that_its_water_activity_is_a_guess() -> None:
    for moisture, guessed in ((0.005, True), (0.03, False)):
        notes = pack_batch(pack(residual_moisture=moisture)).notes
        assert any("never measured" in note for note in notes) is guessed
