"""What changes surveys and schemes; import from here."""

from contractor.rooms.services.survey import (  # noqa: F401
    opening_delete,
    opening_save,
    patch_delete,
    patch_save,
    room_create,
    room_delete,
    room_update,
    side_path_delete,
    side_path_save,
    surface_delete,
    surface_save,
)
