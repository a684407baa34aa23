"""The plan against complete enumeration."""

import itertools
from decimal import Decimal

import numpy as np
import pytest

from acoustics import InputError
from acoustics.bands import a_weighted_shares
from acoustics.plan import NOTHING, Option, Surface, plan_from, plan_treatments


def _case(seed: int, surfaces: int, options: int) -> list[Surface]:
    random = np.random.default_rng(seed)
    return [
        Surface(
            name=f"surface {i}",
            transmission=tuple(10 ** (-random.uniform(40, 60, 21) / 10)),
            options=tuple(
                Option(
                    name=f"option {j}",
                    improvement_db=tuple(random.uniform(-2, 20, 21)),
                    cost=Decimal(int(random.integers(100, 3000))) / 4,
                    area_lost_m2=round(float(random.uniform(0, 1)), 2),
                    mass_kg=float(random.integers(10, 300)),
                )
                for j in range(options)
            ),
        )
        for i in range(surfaces)
    ]


def _result_db(surfaces, chosen, spectrum) -> float:
    weights = a_weighted_shares(spectrum)
    energy = 0.0
    for surface, option in zip(surfaces, chosen, strict=True):
        gain = np.zeros(21) if option is None else np.array(option.improvement_db)
        energy += float(np.sum(weights * np.array(surface.transmission) * 10 ** (-gain / 10)))
    return -10 * np.log10(energy) + 10 * np.log10(0.32 * 40 / 10)


def _cheapest_by_enumeration(surfaces, spectrum, target, limits):
    best = None
    for chosen in itertools.product(*[(None, *s.options) for s in surfaces]):
        taken = [o for o in chosen if o]
        totals = {
            "cost": sum((o.cost for o in taken), Decimal(0)),
            "area_lost_m2": sum(o.area_lost_m2 for o in taken),
            "mass_kg": sum(o.mass_kg for o in taken),
        }
        if any(totals[k] > v for k, v in limits.items()) or _result_db(surfaces, chosen, spectrum) < target:
            continue
        if best is None or totals["cost"] < best:
            best = totals["cost"]
    return best


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize(
    "limits", [{}, {"area_lost_m2": 1.5}, {"area_lost_m2": 1.5, "mass_kg": 400.0}, {"cost": Decimal(1200)}]
)
def test_the_cheapest_is_proved_by_enumeration(seed, limits):
    surfaces = _case(seed, 4, 4)
    spectrum = ("pink", "traffic", "speech", "music")[seed % 4]
    target = _result_db(surfaces, [None] * 4, spectrum) + 5.0
    plan = plan_treatments(
        volume_m3=40, separating_area_m2=10, surfaces=surfaces, spectrum=spectrum, target_db=target, limits=limits
    )
    expected = _cheapest_by_enumeration(surfaces, spectrum, target, limits)
    assert plan.exact
    assert (None if plan.cheapest is None else plan.cheapest.cost) == expected


def test_the_front_is_complete_and_each_point_is_what_it_says():
    surfaces = _case(5, 4, 4)
    plan = plan_treatments(volume_m3=40, separating_area_m2=10, surfaces=surfaces, target_db=50)
    every = {}
    for chosen in itertools.product(*[(None, *s.options) for s in surfaces]):
        cost = sum((o.cost for o in chosen if o), Decimal(0))
        every[cost] = max(every.get(cost, -1.0), _result_db(surfaces, chosen, "pink"))
    front, best = [], -1.0
    for cost in sorted(every):
        if every[cost] > best + 1e-12:
            best = every[cost]
            front.append((cost, best))
    assert [c.cost for c in plan.front] == [c for c, _ in front]
    for choice, (_, result) in zip(plan.front, front, strict=True):
        assert choice.result_db == pytest.approx(result)
    assert plan.front[0].choice == {s.name: NOTHING for s in surfaces}


def test_an_unreachable_target_gives_none():
    plan = plan_treatments(volume_m3=40, separating_area_m2=10, surfaces=_case(1, 3, 3), target_db=200)
    assert plan.cheapest is None
    assert plan.exact


def test_a_real_house_is_planned_exactly():
    plan = plan_treatments(volume_m3=40, separating_area_m2=10, surfaces=_case(9, 8, 12), target_db=55)
    assert plan.exact
    assert len(plan.front) > 8


def test_the_front_door_keeps_money_exact_and_names_bad_fields():
    surface = {
        "name": "wall",
        "transmission": [1e-5] * 21,
        "options": [{"name": "slim", "improvement_db": [8] * 21, "cost": "1234.50"}],
    }
    data = {"volume_m3": 40, "separating_area_m2": 10, "surfaces": [surface], "target_db": 55, "spectrum": "pink"}
    got = plan_from(data)
    assert got["cheapest"]["choice"] == {"wall": "slim"}
    assert Decimal(got["cheapest"]["cost"]) == Decimal("1234.50")
    assert got["exact"] is True
    surface["options"][0]["improvement_db"] = [8] * 20
    with pytest.raises(InputError) as caught:
        plan_from(data)
    assert caught.value.field == "surfaces[0].options[0].improvement_db"
    with pytest.raises(InputError) as caught:
        plan_from({**data, "surfaces": [], "limits": {"colour": 1}})
    assert caught.value.field == "limits.colour"
