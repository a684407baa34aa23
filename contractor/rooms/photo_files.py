"""A photo's files leave the disk with its row, however the row goes."""

from django.db.models.signals import post_delete
from django.dispatch import receiver

from contractor.common.files import discard
from contractor.rooms.models import Photo


@receiver(post_delete, sender=Photo)
def discard_files(instance: Photo, **kwargs) -> None:
    discard(instance.full, instance.small)
