"""A stored offcut that the cut list has no use for any more goes back to the store; one that is cut into does not."""

import pytest

from contractor.fitting.services import remeasure
from contractor.offcuts.models import Offcut
from tests.factories import MaterialFactory, UserFactory

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("is_cut", [False, True])
def test_an_uncut_offcut_is_free_again_when_its_surface_is_measured_again(pack, is_cut):
    document = pack.document
    piece = next(p for face in document["faces"] for layer in face["layers"] for p in layer["pieces"])
    sheet = document["sheets"][piece["sheet_place"]]
    sheet["from_offcut"] = "7/BB-3-1"
    pack.save()
    stored = Offcut.objects.create(
        label="7/BB-3-1", material=MaterialFactory(key=sheet["material_key"]), length_mm=2400, width_mm=1200,
        from_job=pack.job, reserved_for=pack.job,
    )  # fmt: skip
    user = UserFactory()
    if is_cut:
        pack.ticks.create(key=piece["key"], is_done=True, by=user)
    face = next(face for face in document["faces"] if any(piece in layer["pieces"] for layer in face["layers"]))
    remeasure(pack=pack, face_key=face["key"], width_mm=face["width_mm"], height_mm=face["height_mm"] - 40, user=user)
    stored.refresh_from_db()
    assert stored.state == Offcut.State.IN_STORE
    assert (stored.reserved_for == pack.job) == is_cut
