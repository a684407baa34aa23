"""What changes photographs of the survey."""

from collections.abc import Iterable

from django.core.files.base import ContentFile
from django.db import transaction

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.common.pictures import Picture
from contractor.rooms.models import Patch, Photo, Room, Surface


@transaction.atomic
def photos_add(
    *,
    room: Room,
    pictures: Iterable[Picture],
    by: User,
    surface: Surface | None = None,
    patch: Patch | None = None,
    caption: str = "",
) -> list[Photo]:
    """One photo of each picture, in order. A patch brings its surface along."""
    surface = patch.surface if patch is not None else surface
    made = []
    for picture in pictures:
        photo = Photo(
            room=room,
            surface=surface,
            patch=patch,
            width_px=picture.width_px,
            height_px=picture.height_px,
            caption=caption,
            added_by=by,
        )
        photo.full.save("full.jpg", ContentFile(picture.full), save=False)
        photo.small.save("small.jpg", ContentFile(picture.small), save=False)
        photo.full_clean()
        photo.save()
        made.append(photo)
    return made


@transaction.atomic
def photo_update(*, photo: Photo, surface: Surface | None, patch: Patch | None, caption: str) -> Photo:
    photo.surface = patch.surface if patch is not None else surface
    photo.patch, photo.caption = patch, caption
    photo.full_clean()
    photo.save()
    return photo


@transaction.atomic
def photo_delete(*, photo: Photo, user: User) -> None:
    """Take the photo away. Its files go with the row, as with a room that is deleted (see photo_files)."""
    record(user=user, action="photo deleted", subject=photo.room.job, photo=str(photo))
    photo.delete()
