"""What the prediction needs to know of a patch before any sound is worked out."""

from contractor.rooms.models import Opening, Patch, Surface

LEAST_AREA_MM2 = 10_000  # a scrap of wall smaller than a hand's breadth square takes no part


def opening_name(surface: Surface, opening: Opening) -> str:
    """How a door or window is called among the paths."""
    return f"{surface.letter} {opening.get_kind_display().lower()}"


def patch_name(surface: Surface, patch: Patch) -> str:
    """How the patch is called among the paths: by its surface alone where it is the whole or the rest of it."""
    if patch.is_rest:
        return f"{surface.letter} {surface.name}"
    return f"{surface.letter} {surface.name}, {patch.name[:1].lower()}{patch.name[1:]}"
