"""What changes surveys and schemes; import from here."""

from contractor.rooms.calculation import calculate, calculate_all, calculate_well  # noqa: F401
from contractor.rooms.services.found import finding_save, override_on, override_withdraw, rule_set_aside  # noqa: F401
from contractor.rooms.services.parts import fixture_delete, fixture_save, strip_save  # noqa: F401
from contractor.rooms.services.photos import photo_delete, photo_update, photos_add  # noqa: F401
from contractor.rooms.services.rules import rule_restore, rule_save  # noqa: F401
from contractor.rooms.services.schemes import scheme_create, scheme_delete, scheme_update  # noqa: F401
from contractor.rooms.services.survey import (  # noqa: F401
    opening_delete,
    opening_save,
    patch_delete,
    patch_save,
    room_delete,
    side_path_delete,
    side_path_save,
    surface_delete,
    surface_save,
)
from contractor.rooms.services.walk import room_walk  # noqa: F401
