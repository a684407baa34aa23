"""The firm's factor widens or narrows what a prediction states of its uncertainty, and moves no level."""

from decimal import Decimal

import pytest

from contractor.accounts.models import Firm
from contractor.rooms.models import Scheme
from contractor.rooms.services import calculate
from tests.rooms.scenes import FRAME_LINING, bedroom

pytestmark = pytest.mark.django_db


def predicted(scene) -> dict:
    (room,) = calculate(scheme=Scheme.objects.get(pk=scene.scheme.pk)).predictions.values()
    return room


@pytest.mark.parametrize("factor", ["1.50", "0.80"])
def test_the_range_changes_and_no_level_does(factor):
    scene = bedroom()
    scene.build(FRAME_LINING, patch=scene.alcoves)
    plain = predicted(scene)
    Firm.objects.update_or_create(pk=1, defaults={"uncertainty_factor": Decimal(factor)})

    other = predicted(scene)

    assert (plain["uncertainty_factor"], other["uncertainty_factor"]) == (1.0, float(factor))
    for side in ("before", "after"):
        # Both are rounded to a tenth of a decibel.
        assert other[side]["uncertainty_db"] == pytest.approx(plain[side]["uncertainty_db"] * float(factor), abs=0.13)
        for ours, theirs in zip(other[side]["band_uncertainty_db"], plain[side]["band_uncertainty_db"], strict=True):
            assert ours == pytest.approx(theirs * float(factor), abs=0.13)
        for name in ("standardized_db", "weighted_db", "c_db", "ctr_db"):
            assert other[side][name] == plain[side][name]
    assert other["paths"] == plain["paths"]


def test_back_at_one_it_is_as_it_was():
    scene = bedroom()
    plain = predicted(scene)
    for factor in ("2.00", "1.00"):
        Firm.objects.update_or_create(pk=1, defaults={"uncertainty_factor": Decimal(factor)})
        last = predicted(scene)
    assert last == plain
